"""Parts of the bench's lists that are kept as text: each is drawn for what it shows."""

import pytest
from django.urls import reverse

from readiness.templatetags.bench_parts import bench_act, bench_kit
from rentals.marks import Sign, mark_of

pytestmark = pytest.mark.any_database


def test_a_kit_stands_with_its_mark_and_leads_to_its_page():
    bare, cleared = bench_kit("K0014E", None), bench_kit("K0014E", mark_of(Sign.CLEARED))
    address = reverse("readiness:kit_bench", args=["K0014E"])
    assert address in bare and address in cleared
    assert "state-" not in bare and "state-ready" in cleared
    assert bench_kit("K0014E", None) == bare


def test_the_button_says_its_act_as_text():
    assert "&lt;b&gt;Test" in bench_act("K0014E", "<b>Test")
    other = bench_act("K0021C", "Mend")
    assert "Mend" in other and reverse("readiness:kit_at_hand", args=["K0021C"]) in other
