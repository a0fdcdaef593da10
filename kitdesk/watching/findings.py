"""What a look at one part of the desk has found."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from rentals.counts import counted
from rentals.marks import Mark, Sign, mark_of

_MINUTE_S, _HOUR_S, _DAY_S = 60, 3600, 86400
_FROM = 2
"""A larger unit is taken from two of it on: 90 minutes, then 2 hours."""


class Condition(StrEnum):
    """How a part of the desk is. With a failed one the desk cannot serve."""

    OK = "ok"
    WARNING = "warning"
    FAILED = "failed"


_MARKS = {
    Condition.OK: mark_of(Sign.SUCCESS, "in order"),
    Condition.WARNING: mark_of(Sign.WARNING, "see to it"),
    Condition.FAILED: mark_of(Sign.ERROR, "cannot serve"),
}


@dataclass(frozen=True)
class DeskFinding:
    """One part of the desk.

    ``sentence`` and ``numbers`` may be told to everybody, so they hold no name, no folder and no
    version; the key of each number ends with its unit. ``advice`` is for the owner: what to do.
    ``way`` names the address where it is done. A ``pressing`` one is said on Today.
    """

    part: str
    title: str
    condition: Condition
    sentence: str
    advice: str = ""
    numbers: dict[str, float | int | None] = field(default_factory=dict)
    way: str = "watching"
    pressing: bool = False

    @property
    def mark(self) -> Mark:
        """How its condition is shown."""
        return mark_of_condition(self.condition)

    @property
    def has_way(self) -> bool:
        """Whether another page than the owner's page of all parts is where it is seen to."""
        return self.way != "watching"


def mark_of_condition(condition: Condition) -> Mark:
    """How a condition is shown."""
    return _MARKS[condition]


def worst(findings: list[DeskFinding]) -> Condition:
    """The condition of the whole."""
    conditions = {finding.condition for finding in findings}
    for condition in (Condition.FAILED, Condition.WARNING):
        if condition in conditions:
            return condition
    return Condition.OK


def time_words(seconds: float) -> str:
    """A stretch of time for a sentence: ``40 seconds``, ``12 minutes``, ``3 days``."""
    if seconds >= _FROM * _DAY_S:
        return counted(int(seconds // _DAY_S), "day", "days")
    if seconds >= _FROM * _HOUR_S:
        return counted(int(seconds // _HOUR_S), "hour", "hours")
    if seconds >= _FROM * _MINUTE_S:
        return counted(int(seconds // _MINUTE_S), "minute", "minutes")
    return counted(int(seconds), "second", "seconds")
