"""The limits of a kit, from its plan, its parts and the practice."""

import pytest

from readiness.judgement.own_limit import usual_noise_uv
from readiness.models import BenchPlan
from readiness.selectors.limits import first_good_noise_uv, limits_for
from readiness.selectors.proposals import proposals_for
from rentals.models import Amplifier, BatteryPack, Practice
from tests.factories import complete_kit
from tests.readiness.drops import stills

pytestmark = pytest.mark.django_db


@pytest.fixture
def kit():
    return complete_kit(cleared=False)


def test_limits_come_from_plan_amplifier_pack_and_practice(kit):
    practice = Practice.current()
    practice.mains_hz = 60
    practice.save()
    BatteryPack.objects.filter(kit=kit).update(chemistry="alkaline", cells=3)
    limits = limits_for(kit)
    assert (limits.noise_uv, limits.chemistry, limits.cells, limits.mains_hz) == (
        2.0,
        "alkaline",
        3,
        60.0,
    )
    assert limits.battery_limit_v == pytest.approx(3 * 1.25)
    Amplifier.objects.filter(kit=kit).update(noise_limit_uv=0.9)
    assert limits_for(kit).noise_uv == 0.9


def test_a_voltage_written_down_goes_before_the_chemistry(kit):
    plan = BenchPlan.of(kit.kit_type)
    plan.battery_limit_v = 2.55
    plan.save()
    assert limits_for(kit).battery_limit_v == 2.55


def test_an_empty_kit_has_limits_too(kit):
    kit.parts.update(kit=None, place="spare")
    assert limits_for(kit).battery_limit_v == 2.5


def test_three_good_captures_make_a_usual_noise_and_a_lower_bound(kit):
    amplifier = stills(kit, 2)
    assert usual_noise_uv(first_good_noise_uv(amplifier.pk)) is None
    assert proposals_for(kit.kit_type) == []
    stills(kit, 1, first=200)
    usual = usual_noise_uv(first_good_noise_uv(amplifier.pk))
    assert 0.1 < usual < 2.0
    assert limits_for(kit).usual_noise_uv == usual
    proposal = proposals_for(kit.kit_type)[0]
    assert (proposal.amplifier, proposal.captures) == (amplifier, 3)
    assert proposal.limit_uv == pytest.approx(usual * 4 / 3, abs=0.01)
