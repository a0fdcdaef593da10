"""Noise limits that amplifiers propose by their first good captures."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median

from readiness.judgement.own_limit import GOOD_CAPTURES, GOOD_CAPTURES_LEAST, proposed_limit_uv
from readiness.models import Verdict
from readiness.states import VerdictWord
from rentals.models import Amplifier, KitType


@dataclass(frozen=True)
class Proposal:
    """An amplifier's usual noise and the own limit that follows from it, both microvolts."""

    amplifier: Amplifier
    captures: int
    usual_uv: float
    limit_uv: float


def proposals_for(kit_type: KitType) -> list[Proposal]:
    """Proposals for the amplifiers fitted in kits of a type whose own limit is not the proposed one
    yet.
    """
    amplifiers = list(
        Amplifier.objects.filter(kit__kit_type=kit_type).select_related("kit").order_by("kit__code")
    )
    good: dict[int, list[float]] = {}
    rows = Verdict.objects.filter(
        current=True,
        verdict=VerdictWord.FIT,
        noise_uv__isnull=False,
        capture__test="still",
        capture__set_aside="",
        capture__amplifier__in=[amplifier.pk for amplifier in amplifiers],
    ).order_by("capture__taken", "capture_id")
    for amplifier_id, value in rows.values_list("capture__amplifier_id", "noise_uv"):
        values = good.setdefault(amplifier_id, [])
        if len(values) < GOOD_CAPTURES:
            values.append(value)
    return [
        Proposal(amplifier, len(values), median(values), proposed_limit_uv(values))
        for amplifier in amplifiers
        if len(values := good.get(amplifier.pk, [])) >= GOOD_CAPTURES_LEAST
        and amplifier.noise_limit_uv != proposed_limit_uv(values)
    ]
