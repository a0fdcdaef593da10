"""What the day's work is made of: lines, and groups of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from django.db.models import Count, QuerySet, Window
from django.utils.safestring import SafeString

from rentals.due_dates import due_sign, post_words
from rentals.marks import Mark, mark_of

SHOWN = 12
"""Lines of a group that the page of the day shows."""


@dataclass(frozen=True)
class WorkLine:
    """One piece of work; `url` and `act` make the button."""

    what: str
    why: str
    url: str
    act: str
    code: str = ""
    mark: Mark | None = None


@dataclass(frozen=True)
class WorkGroup:
    """Pieces of work of one sort; `more` counts those not shown, `all_url` shows them."""

    title: str
    lines: list[WorkLine]
    total: int
    all_url: str = ""
    more: int = field(init=False)
    drawn: dict[int, SafeString] = field(
        default_factory=dict, init=False, compare=False, repr=False
    )
    """How it is drawn in each place of the page where it was."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "more", self.total - len(self.lines))


READ_ON = "Open"
"""The button of a piece of work for whoever may only look at it."""


def work_open_to(
    may: Callable[[str], bool], groups: Sequence[WorkGroup], *, to_read: bool = False
) -> list[WorkGroup]:
    """The work whose pages somebody may open: the others' work is not theirs to do. `to_read`: none
    of it is, so no button names an act.
    """
    theirs = [found for group in groups if (found := _open_lines(may, group)).lines]
    if not to_read:
        return theirs
    return [
        replace(group, lines=[replace(line, act=READ_ON) for line in group.lines])
        for group in theirs
    ]


def _open_lines(may: Callable[[str], bool], group: WorkGroup) -> WorkGroup:
    lines = [line for line in group.lines if may(line.url)]
    if len(lines) == len(group.lines):
        return group
    return replace(group, lines=lines, total=group.total - len(group.lines) + len(lines))


def group_of(
    title: str, rows: QuerySet, line, all_url: str = "", total: int | None = None
) -> WorkGroup:
    """A group of rows; `total` is how many there are where that is known already, else the same
    query counts them.
    """
    if total is None:
        shown = list(rows.annotate(how_many=Window(Count("*")))[:SHOWN])
        total = shown[0].how_many if shown else 0
    else:
        shown = list(rows[:SHOWN]) if total else []
    return WorkGroup(title, [line(row) for row in shown], total, all_url)


def post_mark(post_by: date, today: date) -> Mark:
    """How near the day of posting is."""
    return mark_of(due_sign(post_by, today), post_words(post_by, today))
