"""The bench on one day, judged by its check kit: in control, suspect, or not known yet."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.utils import timezone

from readiness.judgement.drift import individuals
from readiness.models import CheckKit, Verdict
from readiness.states import BenchDayState
from rentals.codes import grouped
from rentals.models import Kit

LEARNT_FROM = 8
"""So many earlier captures make control limits (common practice: the fewest that a moving range
says anything with).
"""
LOOKED_BACK = 25


@dataclass(frozen=True)
class BenchDay:
    """What the check kit says of a day.

    `value_uv` is its last noise floor of that day, `low_uv` and `high_uv` its control limits, all
    microvolts RMS.
    """

    kit: Kit
    state: BenchDayState
    sentence: str
    value_uv: float | None = None
    low_uv: float | None = None
    high_uv: float | None = None


def span_of(day: date) -> tuple[datetime, datetime]:
    """Beginning and end of a day in the desk's time zone."""
    start = timezone.make_aware(datetime.combine(day, time()))
    return start, timezone.make_aware(datetime.combine(day + timedelta(days=1), time()))


def bench_day(day: date) -> BenchDay | None:
    """The bench on a day, or None where no check kit is appointed."""
    check = CheckKit.objects.select_related("kit").first()
    if check is None:
        return None
    kit, (start, end) = check.kit, span_of(day)
    name = f"The check kit {grouped(kit.code)}"
    noise = Verdict.objects.filter(
        current=True,
        noise_uv__isnull=False,
        capture__kit=kit,
        capture__test="still",
        capture__set_aside="",
    ).order_by("-capture__taken", "-capture_id")
    value = (
        noise.filter(capture__taken__gte=start, capture__taken__lt=end)
        .values_list("noise_uv", flat=True)
        .first()
    )
    if value is None:
        return BenchDay(
            kit,
            BenchDayState.UNTESTED,
            f"{name} was not tested that day: record still with it first.",
        )
    earlier = list(
        noise.filter(capture__taken__lt=start).values_list("noise_uv", flat=True)[:LOOKED_BACK]
    )
    if len(earlier) < LEARNT_FROM:
        lacks = LEARNT_FROM - len(earlier)
        words = (
            f"{name} is still learning its limits: {lacks} more bench"
            f" day{'s' if lacks > 1 else ''}."
        )
        return BenchDay(kit, BenchDayState.LEARNING, words, value)
    chart = individuals(earlier[::-1])
    low, high = max(0.0, chart.lower), chart.upper
    span = f"{value:.2f} µV against {low:.2f} to {high:.2f} µV"
    if low <= value <= high:
        return BenchDay(
            kit,
            BenchDayState.IN_CONTROL,
            f"{name} is within its own limits: {span}.",
            value,
            low,
            high,
        )
    words = (
        f"{name} is outside its own limits ({span}): the bench is suspect, failures of that day are"
        " to be repeated."
    )
    return BenchDay(kit, BenchDayState.SUSPECT, words, value, low, high)


def doubt_of(days: set[date]) -> str:
    """The sentence that says why failures of these days do not count as such; empty where the bench
    was in order.
    """
    for day in sorted(days):
        found = bench_day(day)
        if found is not None and found.state == BenchDayState.SUSPECT:
            return found.sentence
    return ""
