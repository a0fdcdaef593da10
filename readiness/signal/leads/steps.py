"""Steps between two levels in a trace in which nothing moves: popcorn noise of a transistor, or a
contact that gives way, each too low to stand out of the noise sample by sample.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from readiness.signal.statistics.normal import deviate_above

from .trace import EDGE_S, Trace, robust_sigma

BESIDE_S = 0.008
"""Means over so long, before and after, are compared: a step stands there in full behind any
high-pass, and noise of the band shrinks to a third.
"""
CHANCE = 1e-4
"""One sound trace in ten thousand shows a step that was noise."""
CROSSINGS = 100
"""So many independent places a stretch of ``BESIDE_S`` counts for at either sign: the difference of
two neighbouring means is correlated as 1 - 1.5 t / T, and such a trace passes a height of u
standard deviations 1.5 u^2 / T times as often as a single value (Pickands 1969, from memory; u is
about 6).
"""
SPREAD_U = 0.05
"""What the spread itself may be wrong by."""
HUM_SHARE = 0.35
"""Hum that wavers leaves so much of itself (see ``events.SWAY``)."""


@dataclass(frozen=True)
class LevelSteps:
    """How many steps, and the height of the highest in microvolts."""

    count: int
    highest_uv: float


def steps_of(trace: Trace, hum_uv: float) -> LevelSteps:
    """Steps that noise does not explain.

    Parameters
    ----------
    trace : Trace
        Of a test in which nothing moves.
    hum_uv : float
        RMS of its mains harmonics.
    """
    size = max(3, round(BESIDE_S * trace.rate))
    total = np.concatenate(([0.0], np.cumsum(trace.band)))
    means = (total[size:] - total[:-size]) / size
    jumps = np.abs(means[size:] - means[:-size])
    edge = round(EDGE_S * trace.rate)
    jumps = jumps[edge:-edge]
    if not len(jumps):
        return LevelSteps(0, 0.0)
    sigma = max(robust_sigma(means[size:] - means[:-size]), 1e-9)
    independent = len(jumps) / size
    least = (1 + SPREAD_U) * deviate_above(CHANCE / (CROSSINGS * independent)) * sigma
    least = max(least, HUM_SHARE * hum_uv)
    hits = np.flatnonzero(jumps > least)
    if not len(hits):
        return LevelSteps(0, 0.0)
    count = 1 + int(np.count_nonzero(np.diff(hits) > 3 * size))
    return LevelSteps(count, float(jumps.max()))
