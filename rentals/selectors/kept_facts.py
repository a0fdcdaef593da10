"""Facts of all loans or kits that are dear to read, kept in memory by each process and read anew
for those that were touched since.

Every act that changes a loan writes an event of it, and events are only ever added. So what was
read once holds for all loans of which no event came after it. Which event was the last then is kept
beside the facts: they are forgotten where it is not there any more, as after a backup was put back.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Generic, TypeVar

from django.db.models.functions import Coalesce
from django.utils import timezone

from rentals.lifecycle import Verb
from rentals.models import Event
from rentals.noted import under_way
from rentals.selectors.kept_answers import count_as_read, reads_apart

Fact = TypeVar("Fact")

SETTLED_AFTER = timedelta(minutes=10)
"""No act takes so long: of what was written before, nothing is still on its way."""
MANY_EVENTS = 100
"""Events after the last settled one from which on the facts are kept anew, so that few loans are
read again.
"""


@dataclass(frozen=True)
class Touched:
    """Loans and kits that events are of, and how many events there are."""

    loans: Collection[int]
    kits: Collection[int]
    events: int


@dataclass(frozen=True)
class _Mark:
    """The last settled event."""

    event: int
    hash: str


@dataclass(frozen=True)
class _Kept(Generic[Fact]):
    key: Hashable
    mark: _Mark
    facts: Mapping[int, Fact]
    tables: frozenset[str]
    """The marks of what they were read from."""


class KeptFacts(Generic[Fact]):
    """Facts by a number, such as a loan's or a run's. Within an act they are taken but not kept,
    for it may come to nothing.
    """

    def __init__(self) -> None:
        self._kept: _Kept[Fact] | None = None

    def read(
        self,
        key: Hashable,
        find: Callable[[Collection[int] | None], Mapping[int, Fact]],
        touched: Callable[[Touched, Collection[int]], Collection[int]],
    ) -> Mapping[int, Fact]:
        """All facts as they are now.

        Parameters
        ----------
        key : Hashable
            What they depend on besides loans, such as the day.
        find : Callable
            Reads all of them from the database, or those of some numbers.
        touched : Callable
            Which numbers are to be read anew, given what was touched and the numbers whose facts
            are kept.
        """
        # What is kept in memory of these facts hangs on the tables that they are of, which few acts
        # change, not on the events that only tell of a touch.
        with reads_apart():
            kept = self._kept
            since = _touched_since(kept.mark) if kept and kept.key == key else None
            if kept is None or since is None:
                mark, found, anew = _settled(), {}, None
            else:
                mark = _settled() if since.events > MANY_EVENTS else kept.mark
                found, anew = dict(kept.facts), touched(since, kept.facts.keys())
        tables = kept.tables if kept else frozenset()
        if anew is None or anew:
            with reads_apart() as read:
                for number in anew or ():
                    found.pop(number, None)
                found |= find(anew)
            tables |= read
        count_as_read(tables)
        if mark and not under_way() and (kept is None or since is None or mark != kept.mark):
            self._kept = _Kept(key, mark, found, tables)
        return found


def _settled() -> _Mark | None:
    before = timezone.now() - SETTLED_AFTER
    # Out of reach of an index: by that of the moments all events would be read and sorted, from
    # the end on the first one or one of the first is it.
    events = Event.objects.alias(moment=Coalesce("at", "at")).filter(moment__lt=before)
    last = events.order_by("-pk").values_list("pk", "hash").first()
    return _Mark(*last) if last else None


def _touched_since(mark: _Mark) -> Touched | None:
    """What was touched after an event; None where that cannot be told: the event is gone, or
    somebody was erased.
    """
    since = Event.objects.filter(pk__gte=mark.event).order_by("pk")
    rows = since.values_list("pk", "hash", "verb", "loan", "kit")
    first, *later = rows or [(0, "", "", None, None)]
    if first[:2] != (mark.event, mark.hash) or any(row[2] == Verb.ERASED for row in later):
        return None
    loans = {loan for *_, loan, _ in later if loan is not None}
    return Touched(loans, {kit for *_, kit in later if kit is not None}, len(later))
