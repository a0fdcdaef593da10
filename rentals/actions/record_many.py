"""Recording an event for each of many locked kits in a few queries."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from rentals import transaction
from rentals.lifecycle import Verb, follow
from rentals.models import Event, Kit

from .record import Actor, built_event, standing_of


@dataclass(frozen=True)
class KitNews:
    """One event to be of a locked kit; its verb must leave the kit where it stands."""

    kit: Kit
    verb: Verb
    text: str
    data: dict[str, Any] = field(default_factory=dict)


def record_kits(news: Iterable[KitNews], *, actor: Actor = None, at: datetime | None = None) -> int:
    """Append the events to their kits' chains; returns how many. A kit may have several, and is
    then the same object in each.

    Raises
    ------
    ValueError
        If an act would move its kit: that is `record_kit`'s.
    """
    events: list[Event] = []
    kits: dict[int, Kit] = {}
    for row in news:
        kit, before = row.kit, standing_of(row.kit)
        if follow(before, row.verb) != before:
            raise ValueError(f"{row.verb} moves kit {kit.code}.")
        number = kit.event_count + 1
        facts = {"actor": actor, "kit": kit, "data": row.data, "at": at}
        event = built_event(kit.code, number, kit.last_hash, row.verb, row.text, **facts)
        kit.event_count, kit.last_hash = number, event.hash
        events.append(event)
        kits[kit.pk] = kit
    with transaction.atomic():
        Event.objects.bulk_create(events)
        Kit.objects.bulk_update(kits.values(), ["event_count", "last_hash"])
    return len(events)
