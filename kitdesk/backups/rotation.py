"""Which daily backups stay: the last days, then one of each week, then one of each month."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

DAYS, WEEKS, MONTHS = 7, 5, 12


def days_to_keep(days: Iterable[date]) -> set[date]:
    """Of the days that have a backup, those whose backup stays: the last seven, the last of each of
    the last five weeks (ISO 8601) that have one, and the last of each of the last twelve months.

    Counted by the backups there are and not by today's date: a desk that was off for a year loses
    none by being switched on.
    """
    newest_first = sorted(set(days), reverse=True)
    of_weeks: dict[tuple[int, int], date] = {}
    of_months: dict[tuple[int, int], date] = {}
    for day in newest_first:
        of_weeks.setdefault(day.isocalendar()[:2], day)
        of_months.setdefault((day.year, day.month), day)
    return {
        *newest_first[:DAYS],
        *list(of_weeks.values())[:WEEKS],
        *list(of_months.values())[:MONTHS],
    }
