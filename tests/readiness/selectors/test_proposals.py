"""Noise limits that amplifiers propose."""

import pytest

from readiness.judgement.own_limit import usual_noise_uv
from readiness.models import Verdict
from readiness.selectors.limits import first_good_noise_uv
from readiness.selectors.proposals import proposals_for
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
