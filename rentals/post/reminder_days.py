"""Reminders: which rule wants which loan's student written to today.

A reminder that would fall on a day off goes out on the last working day before (ahead of the due
date) or on the next one (after it). A student gets the latest reminder that is due, never a pile of
earlier ones.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from rentals.planning.workdays import (
    working_day_on_or_after,
    working_day_on_or_before,
    working_days_from,
)

BEFORE_DUE = "before_due"
AFTER_DUE = "after_due"
AFTER_DISPATCH = "after_dispatch"
BEFORE_RECHARGE = "recharge"
AFTER_SHORTFALL = "shortfall"
_BEFORE = (BEFORE_DUE, BEFORE_RECHARGE)
#: Days after which the question "did it arrive?" is no longer worth asking.
STALE = timedelta(days=14)


@dataclass(frozen=True)
class ReminderTiming:
    """When a rule reminds: so many days before or after a moment of the loan. ``key`` names the
    rule.
    """

    key: int
    days: int
    moment: str
    working_days: bool = False


@dataclass(frozen=True)
class LoanMoments:
    """The days of a loan that reminders are counted from."""

    due_on: date
    dispatched_on: date | None = None
    recharge_on: date | None = None
    short_since: date | None = None


def reminder_day(timing: ReminderTiming, loan: LoanMoments, country: str) -> date | None:
    """The working day on which a rule wants a loan's student written to; None where the loan has no
    such day.
    """
    start = _start(timing.moment, loan)
    if start is None:
        return None
    days = -timing.days if timing.moment in _BEFORE else timing.days
    if timing.working_days:
        day = working_days_from(start, days, country)
    else:
        day = start + timedelta(days=days)
    if timing.moment in _BEFORE:
        return working_day_on_or_before(day, country)
    return working_day_on_or_after(day, country)


def _start(moment: str, loan: LoanMoments) -> date | None:
    """The day that a rule counts from."""
    days = {
        AFTER_DISPATCH: loan.dispatched_on,
        BEFORE_RECHARGE: loan.recharge_on,
        AFTER_SHORTFALL: loan.short_since,
    }
    return days.get(moment, loan.due_on)


def due_timing(
    timings: Iterable[ReminderTiming], loan: LoanMoments, country: str, today: date
) -> ReminderTiming | None:
    """The one rule that has its word on a loan today: of those whose day has come, the latest."""
    due: list[tuple[date, int, ReminderTiming]] = []
    for timing in timings:
        day = reminder_day(timing, loan, country)
        if day is None or day > today or _is_past(timing, loan, day, today):
            continue
        due.append((day, timing.key, timing))
    if not due:
        return None
    return max(due, key=lambda entry: entry[:2])[2]


def _is_past(timing: ReminderTiming, loan: LoanMoments, day: date, today: date) -> bool:
    """Whether a reminder has lost its sense: "due soon" once the day is gone, "arrived?" after a
    while.
    """
    if timing.moment in (AFTER_DUE, AFTER_SHORTFALL):
        return False
    if today > loan.due_on:
        return True
    return timing.moment == AFTER_DISPATCH and today - day > STALE
