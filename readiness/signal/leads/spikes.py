"""What the eye takes for a spike in a drawn trace, whatever a judge makes of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from readiness.signal.statistics.robust import median, pieces, row_medians

COLUMN_S = 0.015
"""A drawing as wide as a page shows ten seconds in some 690 columns, each from the lowest to the
highest sample in it.
"""
BESIDE = 51
"""Columns a spike is compared with: three eighths of a second to either side."""
STANDS_OUT = 7.0
"""Spreads of its neighbours' heights. Noise does not reach that in ten seconds at any rate."""
GRAIN = 0.3
"""Least spread, as a share of half a usual column: a coarse converter gives many columns one
height.
"""
SEEN = 0.02
"""Share of the drawing's height from which a spike can be seen: some four pixels."""
JOINED = 3
"""Columns apart up to which two spikes are seen as one."""


@dataclass(frozen=True)
class Spike:
    """A stretch of the trace that stands out: start and end in seconds, height in microvolts above
    what is beside it.
    """

    start_s: float
    end_s: float
    size_uv: float


def spikes_of(samples: np.ndarray, rate_hz: float) -> list[Spike]:
    """Spikes of a drawn trace, in order of time.

    Parameters
    ----------
    samples : numpy.ndarray
        Microvolts as recorded, shape (n,); places that are not finite show nothing.
    rate_hz : float
        Samples per second.
    """
    finite = np.isfinite(samples)
    if not finite.all():
        samples = np.where(finite, samples, median(samples[finite]) if finite.any() else 0.0)
    columns = round(len(samples) / rate_hz / COLUMN_S)
    if columns < BESIDE or columns > len(samples):
        return []
    starts = (np.arange(columns) * len(samples)) // columns
    highs, lows = np.maximum.reduceat(samples, starts), np.minimum.reduceat(samples, starts)
    least = GRAIN * median(highs - lows) / 2
    seen = max(SEEN * float(highs.max() - lows.min()), 0.0)
    above = np.maximum(_above(highs, least, seen), _above(-lows, least, seen))
    hits = np.flatnonzero(above > seen)
    if not len(hits):
        return []
    breaks = np.flatnonzero(np.diff(hits) > JOINED)
    edges = np.append(starts, len(samples)) / rate_hz
    return [
        Spike(float(edges[first]), float(edges[last + 1]), float(above[first : last + 1].max()))
        for first, last in zip([hits[0], *hits[breaks + 1]], [*hits[breaks], hits[-1]], strict=True)
    ]


def _above(heights: np.ndarray, least: float, seen: float) -> np.ndarray:
    """Height above the middle of the columns beside, zero where it does not stand out or cannot be
    seen.
    """
    half = BESIDE // 2
    around = np.concatenate((heights[half:0:-1], heights, heights[-2 : -2 - half : -1]))
    above = np.zeros(len(heights))
    # The middle is no lower than the lowest: few columns are so high above that one.
    may = np.flatnonzero(heights - _lowest(around, BESIDE) > max(STANDS_OUT * least, seen))
    if not len(may):
        return above
    beside = pieces(around, BESIDE, 1)
    middle = row_medians(beside[may])
    high = heights[may] - middle
    far = high > max(STANDS_OUT * least, seen)
    may, middle, high = may[far], middle[far], high[far]
    if len(may):
        spread = 1.482602 * row_medians(np.abs(beside[may] - middle[:, None]))
        above[may] = np.where(high > STANDS_OUT * spread, high, 0.0)
    return above


def _lowest(values: np.ndarray, size: int) -> np.ndarray:
    """The lowest of each ``size`` values in a row."""
    reach = 1
    while reach < size:
        further = min(reach, size - reach)
        values = np.minimum(values[:-further], values[further:])
        reach += further
    return values
