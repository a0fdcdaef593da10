"""The noise limit that an amplifier's first good captures propose for it."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median

GOOD_CAPTURES = 5
GOOD_CAPTURES_LEAST = 3
"""So many good `still` captures make an amplifier's usual noise; three is the least a median can be
taken from.
"""


def usual_noise_uv(values: Sequence[float]) -> float | None:
    """Median of the first good noise floors in microvolts; None while there are fewer than
    three.
    """
    return round(median(values), 4) if len(values) >= GOOD_CAPTURES_LEAST else None


def proposed_limit_uv(values: Sequence[float]) -> float:
    """Own noise limit for an amplifier in microvolts: its usual noise and a third more, to two
    decimals.

    A third is common practice, no published source: twelve times the scatter of a ten-second
    estimate (2 to 3 %), so a sound amplifier stays inside, and a third of excess noise shows long
    before the limit of the kit type does.
    """
    return round(median(values) * 4 / 3, 2)
