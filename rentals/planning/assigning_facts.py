"""Which kit goes to which student: what is known of kits and students, and what a plan says."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

ENOUGH_SLACK_DAYS = 14
"""Days between a return still to come and the next hand-over beyond which more days count for
nothing: two weeks cover a reminder, its answer and a parcel's way.
"""
TO_TEST, TO_MEND = 1, 2
"""Work before a kit may go out: a test, or what it lacks or the bench found."""


class Level(StrEnum):
    """What is made as small as can be."""

    UNSERVED = "unserved"
    LATE = "late"
    LATE_DAYS = "late_days"
    SLACK = "slack"
    TO_DO = "to_do"
    WEAR = "wear"
    CHANGES = "changes"


BEST_FIRST = tuple(Level)
"""A plan made anew: what is agreed gives way to slack, work and wear."""

AGREED_FIRST = (
    Level.UNSERVED,
    Level.LATE,
    Level.LATE_DAYS,
    Level.CHANGES,
    Level.SLACK,
    Level.TO_DO,
    Level.WEAR,
)
"""A plan mended: as few changes as possible, once as many as possible are served in time."""


@dataclass(frozen=True)
class KitAhead:
    """A kit as the plan sees it.

    `free_on` is the first day on which it may be handed over, `loans` how often it was lent.
    `to_do` is 0 for a kit that may go out as it is; more work is a larger number. `comes_back` says
    that the day hangs on a return still to come.
    """

    code: str
    kind: int
    free_on: date
    loans: int = 0
    to_do: int = 0
    comes_back: bool = False

    @property
    def to_mend(self) -> bool:
        """Whether it is not to be counted on before it is mended."""
        return self.to_do >= TO_MEND


@dataclass(frozen=True)
class Need:
    """A student who needs a kit of a kind from `post_by`; it is free for others on `free_again`.

    `latest` is the last day on which handing over still makes sense.

    Raises
    ------
    ValueError
        If the days are not in their order, or nothing is left of the loan on `latest`.
    """

    who: int
    kind: int
    post_by: date
    free_again: date
    latest: date

    def __post_init__(self) -> None:
        if not self.post_by <= self.latest < self.free_again:
            raise ValueError(
                f"Need {self.who}: {self.post_by}, {self.latest}, {self.free_again} are not in"
                " their order."
            )


@dataclass(frozen=True)
class Agreed:
    """A kit that a student is to get already; a pinned one stays."""

    who: int
    code: str
    pinned: bool = False


@dataclass(frozen=True)
class HandOver:
    """A kit handed to a student on a day: `late_days` after the day it should have been posted.

    `slack_days` lie between the return before it and the hand-over; None where none is to come.
    """

    who: int
    code: str
    on: date
    late_days: int = 0
    slack_days: int | None = None


@dataclass(frozen=True)
class LevelValue:
    """What one level comes to; `proven` says that no plan has less."""

    level: Level
    value: int
    proven: bool = True


@dataclass(frozen=True)
class AssignmentPlan:
    """The best plan: a hand-over for each student served, and what each level comes to.

    `broken_pins` are pinned kits that cannot be had as agreed.
    """

    hand_overs: tuple[HandOver, ...]
    unserved: tuple[int, ...]
    levels: tuple[LevelValue, ...]
    broken_pins: tuple[Agreed, ...] = ()

    def kit_of(self) -> dict[int, str]:
        """The kit of each student served."""
        return {given.who: given.code for given in self.hand_overs}

    def value(self, level: Level) -> int:
        """What a level comes to."""
        return next(row.value for row in self.levels if row.level is level)

    @property
    def proven(self) -> bool:
        """Whether every level is proven."""
        return all(row.proven for row in self.levels)


def slack_lack(slack_days: int) -> int:
    """What a hand-over with so many days of slack costs: the first day that lacks to enough costs
    one, each further one more than the day before it. So two days are rather taken from two hand-
    overs than both from one.
    """
    lack = min(max(ENOUGH_SLACK_DAYS - slack_days, 0), ENOUGH_SLACK_DAYS)
    return lack * (lack + 1) // 2
