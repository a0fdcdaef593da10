"""Noise limits that amplifiers propose by their first good captures."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import islice
from statistics import median
from typing import Any

from django.db.models import Count, QuerySet

from readiness.judgement.own_limit import GOOD_CAPTURES, GOOD_CAPTURES_LEAST, proposed_limit_uv
from readiness.models import Verdict
from readiness.selectors.limits import good_noise
from rentals.models import Amplifier, KitType

#: Amplifiers whose captures are read in one query.
_AT_ONCE = 500


@dataclass(frozen=True)
class LimitProposal:
    """An amplifier's usual noise and the own limit that follows from it, both microvolts."""

    amplifier: Amplifier
    captures: int
    usual_uv: float
    limit_uv: float


def proposals_for(
    kit_type: KitType, *, first_kit: str = "", most: int | None = None
) -> list[LimitProposal]:
    """Proposals for the amplifiers fitted in kits of a type whose own limit is not the proposed one
    yet, by the code of their kit: from that of `first_kit` on, so many at most.
    """
    fitted = Amplifier.objects.filter(kit__kit_type=kit_type, kit__code__gte=first_kit)
    amplifiers = fitted.filter(pk__in=_often_good())
    in_order = amplifiers.select_related("kit").order_by("kit__code", "pk").iterator(_AT_ONCE)
    found: list[LimitProposal] = []
    while (most is None or len(found) < most) and (some := list(islice(in_order, _AT_ONCE))):
        found += _proposals(some)
    return found[:most]


def _often_good() -> QuerySet[Verdict, Any]:
    """Keys of amplifiers with captures enough to propose by. By far the most have fewer, and need
    not be looked at one by one.
    """
    by_amplifier = good_noise().order_by().values("capture__amplifier")
    enough = by_amplifier.annotate(captures=Count("pk")).filter(captures__gte=GOOD_CAPTURES_LEAST)
    return enough.filter(capture__amplifier__isnull=False).values("capture__amplifier")


def _proposals(amplifiers: list[Amplifier]) -> list[LimitProposal]:
    noise = _first_good_noise([amplifier.pk for amplifier in amplifiers])
    proposals = [
        _proposal(amplifier, noise[amplifier.pk])
        for amplifier in amplifiers
        if len(noise[amplifier.pk]) >= GOOD_CAPTURES_LEAST
    ]
    return [each for each in proposals if each.amplifier.noise_limit_uv != each.limit_uv]


def _proposal(amplifier: Amplifier, values: list[float]) -> LimitProposal:
    return LimitProposal(amplifier, len(values), median(values), proposed_limit_uv(values))


def _first_good_noise(amplifier_keys: list[int]) -> dict[int, list[float]]:
    """Noise floors of each amplifier's first good `still` captures, microvolts, in one query."""
    rows = (
        good_noise()
        .filter(capture__amplifier__in=amplifier_keys)
        .values_list("capture__amplifier_id", "noise_uv")
    )
    noise: dict[int, list[float]] = defaultdict(list)
    for amplifier_id, value in rows:
        if value is not None and len(noise[amplifier_id]) < GOOD_CAPTURES:
            noise[amplifier_id].append(value)
    return noise
