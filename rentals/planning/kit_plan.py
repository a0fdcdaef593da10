"""One kit in the plan: when it is with whom, when it is turned around, and what clashes. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from itertools import pairwise

from rentals.counts import counted
from rentals.dates import short_weekday_date

from .calendar import PlannedDay
from .day_rules import DayRules

ONE_DAY = timedelta(days=1)


class Hold(StrEnum):
    """How a kit is held by a lending; the word is that of the drawing's key."""

    SET_ASIDE = "set aside"
    AGREED = "assigned"
    AWAY = "with the student"
    BACK = "back"
    OVER = "over"


@dataclass(frozen=True)
class Lending:
    """A loan of a kit, or what is set aside for one.

    `posted` is the day it is to be posted, or was; `due` the day it is due back; `back_on` the day
    it came back, None before. `ready` tells that the kit may be posted again already.
    """

    who: str
    run: str
    address: str
    hold: Hold
    posted: PlannedDay
    due: PlannedDay
    back_on: date | None = None
    ready: bool = False


class ClashKind(StrEnum):
    """What is wrong."""

    OVERDUE = "overdue"
    POST_LATE = "post late"
    OVERLAP = "overlap"


@dataclass(frozen=True)
class Clash:
    """Something that will not work out: `short` for a drawing, `words` as a sentence."""

    kind: ClashKind
    day: date
    short: str
    words: str


@dataclass(frozen=True)
class Stay:
    """A lending in the plan: away from `start` to `back`, turned around until `free`."""

    lending: Lending
    start: date
    back: date
    free: PlannedDay

    @property
    def end(self) -> date:
        """The day after the last on which it is taken."""
        return max(self.free.day, self.back + ONE_DAY)

    @property
    def days(self) -> tuple[tuple[str, PlannedDay], ...]:
        """Its three days with what they are called, each with its rule."""
        posted = "to be posted by" if self.lending.hold in _AHEAD else "posted"
        free = "free again at the earliest" if self._is_overdue else "free again"
        return (posted, self.lending.posted), self._return, (free, self.free)

    @property
    def _return(self) -> tuple[str, PlannedDay]:
        if self.lending.back_on is None:
            return "due back", self.lending.due
        return "back", PlannedDay(self.lending.back_on, "the day it came back")

    @property
    def _is_overdue(self) -> bool:
        return self.lending.back_on is None and self.back > self.lending.due.day


_AHEAD = (Hold.SET_ASIDE, Hold.AGREED)


@dataclass(frozen=True)
class KitPlan:
    """A kit's stays in the order of time, and what clashes among them."""

    code: str
    stays: tuple[Stay, ...]
    clashes: tuple[Clash, ...]


def kit_plan(code: str, lendings: Sequence[Lending], rules: DayRules, today: date) -> KitPlan:
    """The plan of one kit.

    A kit that is away and overdue stays away until today at least; one that came back early or late
    counts from the day it came.
    """
    ordered = sorted(lendings, key=lambda lending: lending.posted.day)
    stays = tuple(_stay(lending, rules, today) for lending in ordered)
    clashes = [clash for stay in stays for clash in _clashes_of(stay, today)]
    clashes += [
        clash for before, after in pairwise(stays) if (clash := _overlap(before, after)) is not None
    ]
    return KitPlan(code, stays, tuple(clashes))


def _stay(lending: Lending, rules: DayRules, today: date) -> Stay:
    start = lending.posted.day
    back = lending.back_on or lending.due.day
    if lending.back_on is None and lending.hold is Hold.AWAY:
        back = max(back, today)
    back = max(back, start)
    if lending.ready:
        return Stay(lending, start, back, PlannedDay(back, "it may be posted again already"))
    free = rules.free_again(back)
    if lending.back_on is not None and free.day < today:
        free = _not_cleared(free, rules, today)
    return Stay(lending, start, back, free)


def _not_cleared(free: PlannedDay, rules: DayRules, today: date) -> PlannedDay:
    """A kit whose turnaround is over by its days and not in fact: tomorrow at the earliest."""
    return PlannedDay(
        rules.next_working_day(today),
        f"the next working day: its turnaround was to end on {short_weekday_date(free.day)}, and it"
        " is not cleared yet",
    )


def _clashes_of(stay: Stay, today: date) -> list[Clash]:
    """What is late by itself."""
    lending = stay.lending
    if lending.hold is Hold.AWAY and lending.due.day < today:
        days = _days(today - lending.due.day)
        words = f"Due back on {short_weekday_date(lending.due.day)} and still away: {days} overdue."
        return [Clash(ClashKind.OVERDUE, today, f"{days} overdue", words)]
    if lending.hold is Hold.AGREED and stay.start < today:
        days = _days(today - stay.start)
        words = f"To be posted by {short_weekday_date(stay.start)} and still here: {days} late."
        return [Clash(ClashKind.POST_LATE, stay.start, f"post {days} late", words)]
    return []


def _overlap(before: Stay, after: Stay) -> Clash | None:
    """The next parcel is to be posted before the kit is free again."""
    if after.lending.hold in (Hold.BACK, Hold.OVER) or before.free.day <= after.start:
        return None
    days = _days(before.free.day - after.start)
    words = (
        f"The parcel to {after.lending.who} is to be posted by {short_weekday_date(after.start)},"
        f" and the kit is free again on {short_weekday_date(before.free.day)}, {days} later"
        f" ({before.free.rule})."
    )
    return Clash(ClashKind.OVERLAP, after.start, f"free {days} late", words)


def _days(span: timedelta) -> str:
    return counted(span.days, "day", "days")
