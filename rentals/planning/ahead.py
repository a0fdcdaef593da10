"""Looking ahead: which runs are posted soon, and whether kits taken now will lack for an earlier
run.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

ASSIGN_AHEAD_DAYS = 14
"""Days before posting from which students without a kit are work of the day: time to test a kit,
pack it, and get one back that is late.
"""


@dataclass(frozen=True)
class RunAhead:
    """A run with students who have no kit: `waiting` counts them."""

    name: str
    post_by: date
    waiting: int


@dataclass(frozen=True)
class LeftShort:
    """An earlier run for which too few cleared kits are left: `left` are all there are for it."""

    run: RunAhead
    left: int


def left_short(taken: int, cleared: int, earlier: Iterable[RunAhead]) -> LeftShort | None:
    """The first of the earlier runs that lacks cleared kits once some are taken for a later one.

    Parameters
    ----------
    taken : int
        Cleared kits that the later run takes.
    cleared : int
        Cleared kits that are free before that.
    earlier : iterable of RunAhead
        Runs of the same kit type that are posted before the later one.
    """
    if not taken:
        return None
    left = cleared - taken
    for run in sorted(earlier, key=lambda run: run.post_by):
        if run.waiting > left:
            return LeftShort(run, max(left, 0))
        left -= run.waiting
    return None
