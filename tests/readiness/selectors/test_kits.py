"""One kit at the bench: its round, what is missing, and what is next."""

from __future__ import annotations

import pytest

from readiness.actions.upload import store_upload
from readiness.models import Capture
from readiness.selectors.kits import kit_bench
from rentals.models import Kit
from tests.factories import complete_kit, packed_loan
from tests.readiness.captures import INTERMITTENT_B, capture_bytes, capture_file

pytestmark = pytest.mark.django_db


def drop(kit: Kit, test: str, **facts: object) -> Capture:
    data = capture_bytes(test, kit=kit.code, **facts)
    return store_upload([capture_file(f"{test}.csv", data)]).captures.get()


def test_a_kit_says_how_far_its_round_is_and_what_is_next():
    kit = complete_kit(cleared=False)
    bench = kit_bench(kit)
    assert bench.sentence == "Nothing was tested since the last part was fitted."
    assert (bench.next.label, bench.verdict, bench.may_clear) == ("Record still", "", False)

    drop(kit, "still")
    bench = kit_bench(kit)
    assert [line.capture_id is None for line in bench.tests] == [False, True, True]
    assert (bench.next.label, bench.lacks_battery) == ("Record flex", False)
    assert bench.sentence == "Still to be tested: flex, lift."

    flexed = drop(kit, "flex", faults=INTERMITTENT_B)
    bench = kit_bench(kit)
    assert bench.mark.word == "not fit"
    assert bench.next == bench.findings[0].step
    assert [line.not_counted for line in bench.captures] == ["", ""]
    Capture.objects.filter(pk=flexed.pk).update(set_aside="A chair was moved.")
    assert "Set aside: A chair was moved." in [line.not_counted for line in kit_bench(kit).captures]


def test_a_kit_that_is_not_at_the_bench_says_so_once():
    bench = kit_bench(packed_loan().kit)
    assert bench.sentence.startswith("The kit is packed")
    assert bench.next is None
