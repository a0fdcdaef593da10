"""Which kit goes to which student, for one or many runs at once: what is known, what comes out.

No kit overlaps itself: it is occupied from the day it is handed over until the day it is free
again (half-open: that day it may go to somebody else). Of all plans the best is taken, level by
level: a later level never costs anything of an earlier one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

ENOUGH_SLACK_DAYS = 14
"""Days between a return still to come and the next hand-over beyond which more days count for
nothing: two weeks cover a reminder, its answer and a parcel's way.
"""


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


def assign_kits(
    kits: Sequence[KitAhead],
    needs: Sequence[Need],
    agreed: Iterable[Agreed] = (),
    *,
    order: Sequence[Level] = BEST_FIRST,
    seconds: float = 60.0,
) -> AssignmentPlan:
    """The best plan, proven level by level.

    Parameters
    ----------
    kits : sequence of KitAhead
        Where all levels are equal, kits named first are given first.
    needs : sequence of Need
        Students of the same days are served in this order.
    agreed : iterable of Agreed
        What each student was to get so far; at most one kit for each.
    order : sequence of Level
        `BEST_FIRST` or `AGREED_FIRST`.
    seconds : float
        Longest time for one level of one kit type; a level that takes longer is not proven.
    """
    from .assigning_levels import solve_levels
    from .assigning_network import build_network
    from .assigning_pins import checked_pins

    checked, broken = checked_pins(kits, needs, agreed)
    pins = [row for row in checked if row.pinned]
    hand_overs: list[HandOver] = []
    totals: dict[Level, LevelValue] = {level: LevelValue(level, 0) for level in order}
    for kind in sorted({need.kind for need in needs}):
        of_kind = [kit for kit in kits if kit.kind == kind]
        wanting = [need for need in needs if need.kind == kind]
        network = build_network(of_kind, wanting, checked)
        unagreed = build_network(of_kind, wanting, pins)
        solved = solve_levels(network, unagreed, order, seconds)
        hand_overs += network.hand_overs(solved.flow)
        for row in solved.levels:
            before = totals[row.level]
            totals[row.level] = LevelValue(
                row.level, before.value + row.value, before.proven and row.proven
            )
    served = {given.who for given in hand_overs}
    unserved = tuple(need.who for need in needs if need.who not in served)
    return AssignmentPlan(tuple(hand_overs), unserved, tuple(totals.values()), broken)


def loans_after(kits: Iterable[KitAhead], plan: AssignmentPlan) -> Mapping[str, int]:
    """How often each kit will have been lent."""
    loans = {kit.code: kit.loans for kit in kits}
    for given in plan.hand_overs:
        loans[given.code] += 1
    return loans
