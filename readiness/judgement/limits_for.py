"""The limits one kit is judged against: its type's plan, its amplifier's own noise limit, its
pack's chemistry.
"""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median

from readiness.models import BenchPlan, Verdict
from readiness.signal.limits import Limits
from readiness.states import VerdictWord
from rentals.models import Amplifier, BatteryPack, Kit, KitType, Part, PartKind, Practice

GOOD_CAPTURES = 5
GOOD_CAPTURES_LEAST = 3
"""So many good `still` captures make an amplifier's usual noise; three is the least a median can be
taken from.
"""


def fitted(kit: Kit) -> dict[str, Part]:
    """The serial parts in a kit now that the bench looks at, by kind; the first by code where there
    are two.
    """
    kinds = (PartKind.AMPLIFIER, PartKind.LEAD_SET, PartKind.BATTERY_PACK)
    found: dict[str, Part] = {}
    for part in kit.parts.filter(kind__in=kinds).order_by("code"):
        found.setdefault(part.kind, part)
    return found


def first_good_noise_uv(amplifier_id: int) -> list[float]:
    """Noise floors in microvolts of an amplifier's first good `still` captures, oldest first, five
    at most.
    """
    good = Verdict.objects.filter(
        current=True,
        verdict=VerdictWord.FIT,
        noise_uv__isnull=False,
        capture__test="still",
        capture__set_aside="",
        capture__amplifier_id=amplifier_id,
    )
    return list(
        good.order_by("capture__taken", "capture_id").values_list("noise_uv", flat=True)[
            :GOOD_CAPTURES
        ]
    )


def usual_noise_uv(amplifier_id: int) -> float | None:
    """Median of the first good noise floors in microvolts; None while there are fewer than
    three.
    """
    values = first_good_noise_uv(amplifier_id)
    return round(median(values), 4) if len(values) >= GOOD_CAPTURES_LEAST else None


def proposed_limit_uv(values: Sequence[float]) -> float:
    """Own noise limit for an amplifier in microvolts: its usual noise and a third more, to two
    decimals.

    A third is common practice, no published source: twelve times the scatter of a ten-second
    estimate (2 to 3 %), so a sound amplifier stays inside, and a third of excess noise shows long
    before the limit of the kit type does.
    """
    return round(median(values) * 4 / 3, 2)


def limits_for(kit: Kit) -> Limits:
    """Limits for captures of a kit, from what is fitted in it now."""
    parts = fitted(kit)
    amplifier, pack = parts.get(PartKind.AMPLIFIER), parts.get(PartKind.BATTERY_PACK)
    return limits_with(
        kit.kit_type, amplifier_id=amplifier and amplifier.pk, pack_id=pack and pack.pk
    )


def limits_with(kit_type: KitType, *, amplifier_id: int | None, pack_id: int | None) -> Limits:
    """Limits for captures made with an amplifier and a battery pack, both by key, None where there
    is none.
    """
    plan = BenchPlan.of(kit_type)
    noise_uv, usual, chemistry, cells = plan.noise_limit_uv, None, None, Limits().cells
    if amplifier_id:
        own = (
            Amplifier.objects.filter(pk=amplifier_id)
            .values_list("noise_limit_uv", flat=True)
            .first()
        )
        noise_uv, usual = own or noise_uv, usual_noise_uv(amplifier_id)
    if pack_id:
        facts = BatteryPack.objects.filter(pk=pack_id).values_list("chemistry", "cells").first()
        chemistry, cells = facts or (chemistry, cells)
    given = plan.battery_limit_v
    return Limits(
        noise_uv=noise_uv,
        # A voltage the owner wrote down goes before what the chemistry would say.
        battery_v=given or Limits().battery_v,
        chemistry=None if given else chemistry,
        cells=cells,
        usual_noise_uv=usual,
        mains_hz=float(Practice.current().mains_hz),
    )
