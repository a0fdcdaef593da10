"""The middle and the middle half of a measured value, month by month, found by the database."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import Count, F, Q, QuerySet, Window
from django.db.models.functions import RowNumber, TruncMonth
from django.utils import timezone

from readiness.models import Verdict


@dataclass(frozen=True)
class MonthSpread:
    """So many values of a month: the lower quartile, the median and the upper one, each a value
    that was measured (the inverse of the empirical distribution: Hyndman and Fan, The American
    Statistician 50 (1996) 361-365, definition 1).
    """

    month: date
    number: int
    low: float
    middle: float
    high: float

    @property
    def between(self) -> str:
        """The middle half in words."""
        return f"{self.low:.2f} to {self.high:.2f}"


def _quarter(number: int, share: int) -> int:
    """The place of the value below which, itself counted in, so many quarters of all lie."""
    return -(-number * share // 4)


def month_spreads(verdicts: QuerySet[Verdict], field: str) -> list[MonthSpread]:
    """The spread of a field in each month, oldest first; one query that brings three values a month
    at most.
    """
    months = verdicts.filter(**{f"{field}__isnull": False}).annotate(
        month=TruncMonth("capture__taken"),
        place=Window(RowNumber(), partition_by=F("month"), order_by=(field, "pk")),
        number=Window(Count("pk"), partition_by=F("month")),
    )
    wanted = Q()
    for share in (1, 2, 3):
        # Whole numbers on both sides: rounded up, as `_quarter` does.
        wanted |= Q(place=(F("number") * share + 3) / 4)
    rows = months.filter(wanted).order_by("month", "place")
    by_month: dict[tuple[date, int], dict[int, float]] = {}
    for month, number, place, value in rows.values_list("month", "number", "place", field):
        key = (timezone.localtime(month).date(), number)
        by_month.setdefault(key, {})[place] = value
    return [
        MonthSpread(month, number, *(values[_quarter(number, share)] for share in (1, 2, 3)))
        for (month, number), values in by_month.items()
    ]
