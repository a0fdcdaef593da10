"""Recording an event for each of many locked kits in a few queries: what `record_kit` would have
written for one after the other, by the same functions.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from operator import attrgetter
from typing import Any

from rentals import transaction
from rentals.lifecycle import Verb
from rentals.models import Event, Kit, Loan

from .kit_step import MOVED
from .record import Actor, next_event
from .tell_webhooks import tell_of_events

_AT_ONCE = 100


@dataclass(frozen=True)
class KitNews:
    """One event to be of a locked kit, about a loan or about the kit alone."""

    kit: Kit
    verb: Verb
    text: str
    data: dict[str, Any] = field(default_factory=dict)
    loan: Loan | None = None


def record_kits(
    news: Iterable[KitNews],
    *,
    also: Sequence[str] = (),
    actor: Actor = None,
    at: datetime | None = None,
) -> int:
    """Append the events to their kits' chains and move the kits; returns how many. A kit may have
    several, and is then the same object in each. `also` names columns of the kits that the caller
    has set.

    Raises
    ------
    Refused
        At the first act that may not happen in its kit's state. Nothing is written then.
    """
    events: list[Event] = []
    kits: dict[int, Kit] = {}
    changed = set(also)
    for row in news:
        before = _COLUMNS(row.kit)
        events.append(
            next_event(
                row.kit, row.verb, row.text, actor=actor, loan=row.loan, data=row.data, at=at
            )
        )
        after = _COLUMNS(row.kit)
        changed.update(name for name, b, a in zip(MOVED, before, after, strict=True) if a != b)
        kits[row.kit.pk] = row.kit
    if not events:
        return 0
    with transaction.in_this_act():
        Event.objects.bulk_create(events)
        Kit.objects.bulk_update(kits.values(), sorted(changed), batch_size=_AT_ONCE)
        tell_of_events(events)
    return len(events)


_COLUMNS = attrgetter(*MOVED)
