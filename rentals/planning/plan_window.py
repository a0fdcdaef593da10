"""The weeks that the plan shows. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

WEEKS_OFFERED = (6, 12, 26)
USUAL_WEEKS = 12
WEEKS_BEFORE = 2
"""Weeks before this one with which the plan begins by itself: what is just back is seen too."""
_WEEK = timedelta(weeks=1)
_FARTHEST = timedelta(weeks=520)


def monday_of(day: date) -> date:
    """The Monday of a day's week."""
    return day - timedelta(days=day.weekday())


@dataclass(frozen=True)
class PlanWindow:
    """So many weeks from a Monday on; `end` is the Monday after the last one."""

    start: date
    weeks: int

    @property
    def end(self) -> date:
        return self.start + self.weeks * _WEEK

    @property
    def mondays(self) -> list[date]:
        """The first day of every week."""
        return [self.start + week * _WEEK for week in range(self.weeks)]

    @property
    def earlier(self) -> date:
        """Where the window begins that shows the half before."""
        return self.start - max(self.weeks // 2, 1) * _WEEK

    @property
    def later(self) -> date:
        """Where the window begins that shows the half after."""
        return self.start + max(self.weeks // 2, 1) * _WEEK

    def meets(self, start: date, end: date) -> bool:
        """Whether a half-open span lies in the window with at least a day."""
        return start < self.end and self.start < end


def usual_start(today: date) -> date:
    """The Monday with which the plan begins by itself."""
    return monday_of(today) - WEEKS_BEFORE * _WEEK


def window_of(start: str, weeks: str, today: date) -> PlanWindow:
    """The window that an address asks for, by a day (ISO 8601) and a number of weeks; what cannot
    be read, or lies more than ten years off, gives the usual one.
    """
    try:
        first = monday_of(date.fromisoformat(start))
    except (ValueError, OverflowError):
        first = usual_start(today)
    if abs(first - today) > _FARTHEST:
        first = usual_start(today)
    wanted = int(weeks) if weeks.isdecimal() and len(weeks) < 3 else 0
    return PlanWindow(first, wanted if wanted in WEEKS_OFFERED else USUAL_WEEKS)
