"""The numbered events of a capture as lines of a page: alike ones together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from readiness.signal.catalogue import LEADS
from readiness.signal.result import AbruptEvent
from rentals.counts import counted

JUMP = "abrupt jump"
TIMES_NAMED = 4
SEVERAL_SPIKES_S = 0.15
"""An event that lasts longer may look like several spikes: its end is named as well."""


@dataclass(frozen=True)
class EventLine:
    """Events of one kind in one window: their numbers as on the trace, and a sentence of times,
    height and what they are.
    """

    numbers: str
    text: str
    counts: bool
    """Whether they count against the kit; the others are explained."""


def events_of(result: dict[str, Any]) -> list[AbruptEvent]:
    """The events of a stored result; rows of earlier days have no reason."""
    return [AbruptEvent(*row) for row in result.get("events", ())]


def event_lines(events: Sequence[AbruptEvent]) -> list[EventLine]:
    """All events in lines, those of one window and one explanation together; what counts stands
    first.
    """
    numbered = list(enumerate(events, 1))
    alike = sorted(numbered, key=lambda item: _kind_of(item[1]))
    lines = [_line(list(group)) for _, group in groupby(alike, lambda item: _kind_of(item[1]))]
    return sorted(lines, key=lambda line: not line.counts)


def _kind_of(event: AbruptEvent) -> tuple[str, str]:
    return event.reason, event.window


def _line(group: Sequence[tuple[int, AbruptEvent]]) -> EventLine:
    events = [event for _, event in group]
    first = events[0]
    times = ", ".join(_time_of(event) for event in events[:TIMES_NAMED])
    more = len(events) - TIMES_NAMED
    at = f"at {times} s" + (f" and {counted(more, 'more', 'more')}" if more > 0 else "")
    highest_uv = max(event.size_uv for event in events)
    height = f"up to {highest_uv:.0f} µV" if highest_uv >= 100 else f"up to {highest_uv:.3g} µV"
    where = f"lead {first.window}" if first.window in ("A", "B") else first.window
    window = f", window {where}" if first.window in LEADS else ""
    what = first.reason or JUMP
    text = f"{what[:1].upper()}{what[1:]}: {at}, {height}{window}."
    return EventLine(_ranges([number for number, _ in group]), text, not first.reason)


def _time_of(event: AbruptEvent) -> str:
    if event.end_s - event.start_s < SEVERAL_SPIKES_S:
        return f"{event.start_s:.2f}"
    return f"{event.start_s:.2f} to {event.end_s:.2f}"


def _ranges(numbers: Sequence[int]) -> str:
    """``1-3, 7`` for 1, 2, 3, 7."""
    parts = []
    for _, group in groupby(enumerate(numbers), lambda item: item[1] - item[0]):
        run = [number for _, number in group]
        parts.append(str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}")
    return ", ".join(parts)
