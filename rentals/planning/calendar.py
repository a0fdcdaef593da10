"""The days of the plan: when a parcel is posted, when a kit is due back, when it is free again.
Every one comes with the rule that made it. Pure.

Spans are half-open: a kit is taken from the day it is posted until the day it may be posted again,
that day left out. The due day is the day on which the kit is back in the house, so the way back
lies before it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from rentals.counts import counted
from rentals.dates import short_date, short_weekday_date

from .workdays import Workdays

ENTERED = "entered"
"""The rule of a day that somebody typed."""
MOST_HOLIDAYS_NAMED = 3


@dataclass(frozen=True)
class PlannedDay:
    """A day with the rule that made it, as one clause without a full stop."""

    day: date
    rule: str = ENTERED


@dataclass(frozen=True)
class Turnaround:
    """What happens to a kit between two loans, in working days of the practice's country; 0 for
    what is done on the day of the step before.
    """

    check: int = 1
    clean: int = 0
    charge: int = 1
    bench: int = 1
    restock: int = 0

    @property
    def days(self) -> int:
        """All steps, one after the other."""
        return sum(days for _, days in self._steps)

    @property
    def words(self) -> str:
        """The steps that take days: ``check 1, charge 1, bench 1``."""
        return ", ".join(f"{name} {days}" for name, days in self._steps if days)

    @property
    def _steps(self) -> tuple[tuple[str, int], ...]:
        return (
            ("check", self.check),
            ("clean", self.clean),
            ("charge", self.charge),
            ("bench", self.bench),
            ("restock", self.restock),
        )


@dataclass(frozen=True)
class Transit:
    """How long the post takes to a place and back, in working days. `place` is its name; empty
    where none is known.
    """

    out: int
    back: int
    place: str = ""


@dataclass(frozen=True)
class Margins:
    """Working days that are kept free: `spare` before the run starts, `to_send` for a student to
    post the kit once the run has ended.
    """

    spare: int = 1
    to_send: int = 2


def post_by(starts_on: date, transit: Transit, margins: Margins, workdays: Workdays) -> PlannedDay:
    """The last day a parcel can be posted and be there before the run starts, with days to
    spare.
    """
    days = transit.out + margins.spare
    day = workdays.count_from(starts_on, -days)
    to = f" to {transit.place}" if transit.place else ""
    spare = f" and {margins.spare} to spare" if margins.spare else ""
    rule = (
        f"{_working_days(days)} before the run starts on {short_weekday_date(starts_on)}:"
        f" the post takes {transit.out}{to}{spare}"
    )
    return PlannedDay(day, rule + _holidays(day, starts_on, workdays))


def back_by(ends_on: date, transit: Transit, margins: Margins, workdays: Workdays) -> PlannedDay:
    """The day a kit is due back in the house: the student's days to post it, then the way back."""
    days = margins.to_send + transit.back
    day = workdays.count_from(ends_on, days)
    back = f" from {transit.place}" if transit.place else ""
    send = f"{margins.to_send} to post it, then " if margins.to_send else ""
    rule = (
        f"{_working_days(days)} after the run ends on {short_weekday_date(ends_on)}:"
        f" {send}the post takes {transit.back}{back}"
    )
    return PlannedDay(day, rule + _holidays(ends_on, day, workdays))


def free_again(back_on: date, turnaround: Turnaround, workdays: Workdays) -> PlannedDay:
    """The first day a kit may be posted again: that many working days after it is back, or the
    same day where the turnaround takes none.
    """
    if not turnaround.days:
        return PlannedDay(back_on, "the day it is back: the turnaround takes no day")
    day = workdays.count_from(back_on, turnaround.days)
    rule = (
        f"{_working_days(turnaround.days)} after it is back on {short_weekday_date(back_on)}:"
        f" {turnaround.words}"
    )
    return PlannedDay(day, rule + _holidays(back_on, day, workdays))


def _working_days(number: int) -> str:
    return counted(number, "working day", "working days")


def _holidays(first: date, last: date, workdays: Workdays) -> str:
    """The public holidays that were passed over, as a clause of their own; empty without any."""
    days = list(workdays.days_off(first, last))
    if not days:
        return ""
    names = [short_date(day) for day in days[:MOST_HOLIDAYS_NAMED]]
    if beyond := len(days) - len(names):
        names.append(f"{beyond} more")
    kind = "is a public holiday" if len(days) == 1 else "are public holidays"
    return f"; {_listed(names)} {kind}"


def _listed(names: Sequence[str]) -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    *before, last = names
    return f"{', '.join(before)} and {last}" if before else last
