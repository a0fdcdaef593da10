"""How far a lift moves the trace in each lead's part, and whether the ground answers in another
lead's place.

A lifted active lead puts its input on its own: millivolts, to the end of the range. A lifted ground
moves both inputs together, of which the amplifier rejects all but a thousandth. So the ground's
part never answers as an active lead's does, unless it was that lead that was lifted, or sits there.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from readiness.signal.statistics.robust import pieces

from .contacts import RUBS_UV
from .trace import HOP_S, SEGMENT_S, Trace

PARTS_S = {"A": (2.0, 4.5), "B": (5.3, 7.4), "ground": (8.1, 9.9)}
"""Where a lead is in hand, and hardly another one, with an operator half a second early or late."""
MORE = 2.0
"""A part that answers as an active lead's does stands that far above one that does not. Of 180
sound kits of two models the ground's part reached a quarter of the lesser active's at most.
"""
LIKE_ACTIVE = 0.1
"""Least share of what the other active lead shows: both go as far as the stage lets them, or hold
what the same body lets in.
"""
OPEN_LIKE = 0.5
"""With an active lead open the bar moves one input only: lifting the ground then answers as far as
any active lead does. On its own that proves nothing where the still part is that of closed inputs:
an amplifier of poor rejection comes near it.
"""


def one_is_open(heights: Mapping[str, float]) -> bool:
    """Whether the ground answers as far as the active leads do, of which one at least does."""
    highest = max(heights["A"], heights["B"])
    return min(heights["ground"], highest) >= RUBS_UV and heights["ground"] >= OPEN_LIKE * highest


def none_is_open(heights: Mapping[str, float]) -> bool:
    """Whether an active lead answers by far more than the ground: then no active lead was open, and
    hum that keeps its phase while one is lifted does so by chance. Hum of the room's own loop has
    some phase, and that of one lifted sound lead in four is near it.
    """
    highest = max(heights["A"], heights["B"])
    return highest >= RUBS_UV and heights["ground"] < LIKE_ACTIVE * highest


def in_grounds_place(heights: Mapping[str, float]) -> str | None:
    """The active lead in whose part the ground was lifted, while the ground's part answers as that
    lead should; ``None`` where no lead is.
    """
    low, high = sorted("AB", key=lambda lead: heights[lead])
    least = max(RUBS_UV, MORE * heights[low], LIKE_ACTIVE * heights[high])
    if heights["ground"] < least or heights[high] < max(RUBS_UV, MORE * heights[low]):
        return None
    return low


def heights_uv(trace: Trace) -> dict[str, float]:
    """How far each lead's part moves the trace, microvolts: from its lowest to its highest in the
    quarter second that moves most.
    """
    heights = {lead: _heights_uv(trace, span) for lead, span in PARTS_S.items()}
    # One edge stands in two of the quarter seconds, which overlap by half. For an active lead one
    # is enough: it may have been put back at the very end.
    return {lead: row[-2 if lead == "ground" else -1] for lead, row in heights.items()}


def _heights_uv(trace: Trace, span: tuple[float, float]) -> list[float]:
    """From the lowest to the highest of each quarter second, a line taken out, in rising order:
    what dies away slowly after a lift before this one leaves next to nothing.
    """
    size, hop = round(SEGMENT_S * trace.rate), max(1, round(HOP_S * trace.rate))
    inside = trace.segments(*span)
    slope = np.linspace(-1.0, 1.0, size)
    slope /= np.linalg.norm(slope)
    # Where a quarter second ends between two samples, some hold one sample less.
    ends = np.rint((trace.start_s[inside] + SEGMENT_S) * trace.rate)
    lengths = np.minimum(size, ends.astype(int) - hop * inside)
    heights = [0.0, 0.0]
    for length in set(lengths.tolist()):
        rows = pieces(trace.x, size, hop)[inside[lengths == length], :length]
        level = rows - rows.mean(axis=1, keepdims=True)
        level -= slope[:length] * np.vecdot(level, slope[:length])[:, None]
        heights += np.ptp(level, axis=1).tolist()
    return sorted(heights)
