"""The limits one kit is judged against: its type's plan, its amplifier's own noise limit, its
pack's chemistry.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from django.db.models import QuerySet

from readiness.judgement.own_limit import GOOD_CAPTURES, usual_noise_uv
from readiness.models import BenchPlan, Verdict
from readiness.signal.catalogue import NOISE_TEST
from readiness.signal.limits import Limits
from readiness.states import VerdictWord
from rentals.models import Amplifier, BatteryPack, Event, Kit, KitType, Part, PartKind, Practice
from rentals.planning.contents import first_of_each_kind

JUDGED_PARTS = (PartKind.AMPLIFIER, PartKind.LEAD_SET, PartKind.BATTERY_PACK)


def fitted(kit: Kit) -> dict[str, Part]:
    """The serial parts in a kit now that the bench looks at, by kind; the first by code where there
    are two.
    """
    return first_of_each_kind(kit.parts.filter(kind__in=JUDGED_PARTS))


def good_noise() -> QuerySet[Verdict]:
    """Verdicts on the good captures of the test that gives the noise floor of amplifiers, oldest
    first.
    """
    good = Verdict.objects.filter(
        current=True,
        verdict=VerdictWord.FIT,
        noise_uv__isnull=False,
        capture__test=NOISE_TEST,
        capture__set_aside="",
    )
    return good.order_by("capture__taken", "capture_id")


def first_good_noise_uv(amplifier_id: int) -> list[float]:
    """Noise floors in microvolts of an amplifier's first good captures, oldest first, five at
    most.
    """
    of_it = good_noise().filter(capture__amplifier=amplifier_id)
    values = of_it.values_list("noise_uv", flat=True)[:GOOD_CAPTURES]
    return [value for value in values if value is not None]


def limits_for(kit: Kit) -> Limits:
    """Limits for captures of a kit, from what is fitted in it now."""
    return limits_of(kit, fitted(kit))


def limits_of(kit: Kit, parts: Mapping[str, Part]) -> Limits:
    """The same for the parts that ``fitted`` gave."""
    amplifier = parts.get(PartKind.AMPLIFIER)
    pack = parts.get(PartKind.BATTERY_PACK)
    return limits_with(
        kit.kit_type,
        amplifier_id=amplifier.pk if amplifier else None,
        pack_id=pack.pk if pack else None,
    )


def limits_with(kit_type: KitType, *, amplifier_id: int | None, pack_id: int | None) -> Limits:
    """Limits for captures made with an amplifier and a battery pack, both by key, None where there
    is none.
    """
    return limits_by(
        BenchPlan.of(kit_type),
        own_limit_uv=_own_limit_uv(amplifier_id),
        good_noise_uv=first_good_noise_uv(amplifier_id) if amplifier_id else [],
        cells=_cells_of(pack_id),
        practice=Practice.current(),
    )


def limits_by(
    plan: BenchPlan,
    *,
    own_limit_uv: float | None,
    good_noise_uv: Sequence[float],
    cells: tuple[str, int] | None,
    practice: Practice,
) -> Limits:
    """Limits from what they follow from: the plan, the amplifier's own limit and first good noise
    floors in microvolts, chemistry and number of cells of the pack.
    """
    usual = Limits()
    noise_uv = own_limit_uv or plan.noise_limit_uv
    chemistry, number = cells or (None, usual.cells)
    # A voltage the owner wrote down goes before what the chemistry would say.
    owners_voltage = plan.battery_limit_v
    return Limits(
        noise_uv=noise_uv,
        battery_v=owners_voltage or usual.battery_v,
        chemistry=None if owners_voltage else chemistry,
        cells=number,
        usual_noise_uv=usual_noise_uv(good_noise_uv),
        high_pass_hz=plan.high_pass_hz,
        low_pass_hz=plan.low_pass_hz,
        notch=plan.notch,
        mains_hz=float(practice.mains_hz),
    )


def _own_limit_uv(amplifier_id: int | None) -> float | None:
    if amplifier_id is None:
        return None
    amplifiers = Amplifier.objects.filter(pk=amplifier_id)
    return amplifiers.values_list("noise_limit_uv", flat=True).first()


def _cells_of(pack_id: int | None) -> tuple[str, int] | None:
    """Chemistry and number of cells of a battery pack."""
    if pack_id is None:
        return None
    packs = BatteryPack.objects.filter(pk=pack_id)
    return packs.values_list("chemistry", "cells").first()


def changes_of_plan(kit_type: KitType) -> QuerySet[Event]:
    """Every change of a kit type's test plan with its reason, newest first."""
    return Event.objects.filter(chain=f"plan {kit_type.pk}").order_by("-number")
