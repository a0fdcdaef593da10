"""What the check kit measured on a day and on the days before it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, time, timedelta

from django.db.models import QuerySet
from django.utils import timezone

from readiness.judgement.bench_day import LOOKED_BACK, BenchDay, judge_day
from readiness.models import CheckKit, Verdict
from readiness.signal.catalogue import NOISE_TEST
from readiness.states import BenchDayState
from rentals.models import Kit


def span_of(day: date) -> tuple[datetime, datetime]:
    """Beginning and end of a day in the desk's time zone."""
    start = datetime.combine(day, time())
    next_day = datetime.combine(day + timedelta(days=1), time())
    return timezone.make_aware(start), timezone.make_aware(next_day)


def bench_day(day: date) -> BenchDay | None:
    """The bench on a day, or None where no check kit is appointed."""
    # By the number: by the code all kits would be gone through, to find the one.
    check = CheckKit.objects.select_related("kit").order_by("kit_id").first()
    if check is None:
        return None
    start, end = span_of(day)
    noise = _noise_of(check.kit)
    of_the_day = noise.filter(capture__taken__gte=start, capture__taken__lt=end)
    value = of_the_day.values_list("noise_uv", flat=True).first()
    if value is None:
        return judge_day(check.kit, None, [])
    before = noise.filter(capture__taken__lt=start).values_list("noise_uv", flat=True)
    newest_first = [level for level in before[:LOOKED_BACK] if level is not None]
    return judge_day(check.kit, value, newest_first[::-1])


def _noise_of(kit: Kit) -> QuerySet[Verdict]:
    """Current verdicts on the kit's `still` captures that give a noise floor, newest first."""
    verdicts = Verdict.objects.filter(
        current=True,
        noise_uv__isnull=False,
        capture__kit=kit,
        capture__test=NOISE_TEST,
        capture__set_aside="",
    )
    return verdicts.order_by("-capture__taken", "-capture_id")


def doubt_of(days: Iterable[date]) -> str:
    """The sentence that says why failures of these days do not count as such; empty where the bench
    was in order.
    """
    for day in sorted(days):
        state_of_day = bench_day(day)
        if state_of_day is not None and state_of_day.state == BenchDayState.SUSPECT:
            return state_of_day.sentence
    return ""
