"""What a part's own page shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from rentals.models import (
    Amplifier,
    BatteryPack,
    Event,
    Lead,
    LicenceKey,
    Part,
    PartKind,
)
from rentals.selectors.next_steps import Button, part_page_button, part_waits

EVENTS_SHOWN = 30


@dataclass(frozen=True)
class PartPage:
    """Where a part has been, what is next with it (or why nothing is), and the facts of its kind:
    those of other kinds are None or empty.
    """

    next: Button | None
    waits: str
    events: QuerySet[Event]
    leads: Sequence[Lead] = ()
    pack: BatteryPack | None = None
    key: LicenceKey | None = None
    amplifier: Amplifier | None = None


def part_page(part: Part) -> PartPage:
    """All of that for a part."""
    events = Event.objects.filter(part=part).select_related("kit")
    return PartPage(
        next=part_page_button(part),
        waits=part_waits(part),
        events=events.order_by("-pk")[:EVENTS_SHOWN],
        **_facts_of_kind(part),
    )


def _facts_of_kind(part: Part) -> dict[str, Any]:
    match part.kind:
        case PartKind.LEAD_SET:
            return {"leads": list(Lead.objects.filter(lead_set=part.pk))}
        case PartKind.BATTERY_PACK:
            return {"pack": BatteryPack.objects.filter(pk=part.pk).first()}
        case PartKind.LICENCE_KEY:
            return {"key": LicenceKey.objects.filter(pk=part.pk).first()}
        case PartKind.AMPLIFIER:
            return {"amplifier": Amplifier.objects.filter(pk=part.pk).first()}
    return {}
