"""Which abrupt events are those of a contact that parts, and whose contact it is.

A lead that opens while a hand holds the bar leaves its input on a hundred picofarad or so, which
the body's mains and the input's own bias charge by volts a second: within milliseconds the trace
stands a millivolt away, and falls back at once when the contact closes. A sound cable that rubs
moves charge too, but its conductor stays tied to the bar. The ground's opening shows only through
the amplifier's imperfect rejection, and no figure of its height tells it from rubbing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from readiness.signal.catalogue import LEADS, Span
from readiness.signal.result import AbruptEvent

from .events import OPERATOR_S

RUBS_UV = 500.0
"""A cable that rubs parts some tens of picocoulomb within a millisecond (common practice for cables
without a conducting layer); through the ten kilohm that a lead on a bar has at most that is half a
millivolt.
"""
RANGE_SHARE = 0.5
"""Of half the range of a channel that ends before that."""
GROUND_UV = 1000.0
"""A ground that opens lets a volt of the body's mains through a rejection of 60 dB, and seldom
more; what jumps higher is an active lead's.
"""
STROKE_S = 0.1
"""The last stroke of a hand ends so much after it should."""


def parting(
    events: Iterable[AbruptEvent], full_scale: tuple[float, float] | None
) -> tuple[AbruptEvent, ...]:
    """The events that are too high for a cable that only rubs.

    ``full_scale``: ends of the channel's range in microvolts, where known.
    """
    least_uv = RUBS_UV
    if full_scale is not None:
        least_uv = min(least_uv, RANGE_SHARE * (full_scale[1] - full_scale[0]) / 2)
    return tuple(event for event in events if event.size_uv >= least_uv)


def whose(events: Sequence[AbruptEvent], windows: Sequence[Span]) -> str | None:
    """The lead of all these events together; ``None`` where they fit two leads alike.

    One lead explains what falls into its window with an operator half a second early or late. A
    lead whose window holds more of them than that of any other is the one that is broken: a cable
    that is bent pulls its neighbour.
    """
    candidates = [lead for lead in LEADS if lead != "ground" or _may_be_ground(events)]
    explained = {
        lead: sum(_explains(lead, event, windows) for event in events) for lead in candidates
    }
    surely = {lead: sum(event.lead == lead for event in events) for lead in candidates}
    best = max((explained[lead], surely[lead]) for lead in candidates)
    first = [lead for lead in candidates if (explained[lead], surely[lead]) == best]
    return first[0] if best[0] and len(first) == 1 else None


def _may_be_ground(events: Sequence[AbruptEvent]) -> bool:
    return max(event.size_uv for event in events) < GROUND_UV


def _explains(lead: str, event: AbruptEvent, windows: Sequence[Span]) -> bool:
    middle = (event.start_s + event.end_s) / 2
    low, high = next((low, high) for name, low, high in windows if name == lead)
    return low - OPERATOR_S <= middle <= high + OPERATOR_S + STROKE_S
