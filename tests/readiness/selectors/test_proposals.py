"""Noise limits that amplifiers propose."""

import pytest
from django.urls import reverse

from readiness.judgement.own_limit import usual_noise_uv
from readiness.models import Verdict
from readiness.selectors.limits import first_good_noise_uv
from readiness.selectors.proposals import proposals_for
from readiness.views import plans
from tests.factories import complete_kit
from tests.readiness.drops import stills

pytestmark = pytest.mark.django_db


@pytest.fixture
def kit():
    return complete_kit(cleared=False)


def test_only_the_first_five_good_captures_count(kit):
    amplifier = stills(kit, 5)
    usual = usual_noise_uv(first_good_noise_uv(amplifier.pk))
    Verdict.objects.filter(capture__name="104.csv").update(noise_uv=usual)
    stills(kit, 2, first=300)
    Verdict.objects.filter(capture__name__in=["300.csv", "301.csv"]).update(noise_uv=1.9)
    assert usual_noise_uv(first_good_noise_uv(amplifier.pk)) == pytest.approx(usual, rel=0.2)
    assert proposals_for(kit.kit_type)[0].captures == 5


def test_amplifiers_stand_there_a_few_at_a_time(kit, signed_in, monkeypatch):
    monkeypatch.setattr(plans, "PROPOSALS_SHOWN", 1)
    second = complete_kit(kit.kit_type, cleared=False)
    for each, first in ((kit, 1), (second, 50)):
        stills(each, 5, first=first)
    codes = sorted((kit.code, second.code))
    found = proposals_for(kit.kit_type, first_kit=codes[1], most=1)
    assert [proposal.amplifier.kit.code for proposal in found] == codes[1:]
    address = reverse("readiness:plan", args=[kit.kit_type_id])
    page = signed_in.get(address).content.decode()
    assert page.count("Take this limit") == 1 and f"?from={codes[1]}#own" in page
    assert "Further amplifiers" not in signed_in.get(f"{address}?from={codes[1]}").content.decode()
