"""The arrival check: until when a student may say what was missing or damaged, and what can be
asked of the student later. What was missing on arrival is never charged.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

#: The check is sent, and can be put right once more.
MOST_TIMES_SENT = 2


@dataclass(frozen=True)
class Arrived:
    """What is said of one packing line: how many of its pieces are missing or damaged."""

    missing: int = 0
    damaged: int = 0
    note: str = ""


@dataclass(frozen=True)
class ArrivalStanding:
    """What the arrival check of a loan depends on: `with_student` while the kit is out and not on
    its way back.
    """

    with_student: bool
    dispatched_on: date | None
    times_sent: int
    days: int

    @property
    def ends_on(self) -> date | None:
        """The last day on which it is taken."""
        if self.dispatched_on is None:
            return None
        return self.dispatched_on + timedelta(days=self.days)

    def is_open(self, today: date) -> bool:
        """Whether the student may send it on a day."""
        if not self.with_student or self.ends_on is None:
            return False
        return today <= self.ends_on and self.times_sent < MOST_TIMES_SENT


def asked_for_missing(lacking: int, missing_on_arrival: int) -> int:
    """For how many of the pieces that did not come back the student can be asked: never for one
    that was missing on arrival.

    Raises ValueError for a negative number of pieces.
    """
    if lacking < 0 or missing_on_arrival < 0:
        raise ValueError("a number of pieces is never negative")
    return max(0, lacking - missing_on_arrival)


def asked_for_damaged(damaged: int, missing_on_arrival: int, damaged_on_arrival: int) -> int:
    """For how many of the pieces that are not sound the student can be asked: never for one that
    was missing or damaged on arrival.
    """
    return asked_for_missing(damaged, missing_on_arrival + damaged_on_arrival)
