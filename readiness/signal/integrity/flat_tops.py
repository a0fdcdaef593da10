"""Tops cut off on one side of a trace, within its range, however coarse its steps are."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from readiness.signal.capture import Channel, Note

FEWEST_BEYOND = 30
"""So many samples reach further on one side than any does on the other: in a trace whose two sides
are alike that happens once in 2^30.
"""
SURE = 4.0
"""Standard deviations of a Poisson count that the pile may lack of what was cut off."""
MOST_CUT = 0.45
"""Share of the samples cut off beyond which the middle of the trace is no longer told by its
median.
"""


def check_flat_tops(samples: np.ndarray, emg: Channel) -> Iterator[Note]:
    """Whether what is missing on one side lies piled up at its last value (``clipped``).

    Parameters
    ----------
    samples : numpy.ndarray
        Finite microvolts of a test in which nothing moves, shape (n,).
    emg : Channel
        Their channel, for its declared step.

    Notes
    -----
    Noise and hum of a shorted input are as often above their middle as below. Where a stage stops
    on one side, its highest value holds as many samples as lie at its mirror image and beyond. A
    trace that only leans to one side has no such pile.
    """
    for sign, words in ((1.0, "highest"), (-1.0, "lowest")):
        values, counts = np.unique(sign * samples, return_counts=True)
        if len(values) < 3:
            return
        if _is_cut(values, counts, emg.resolution or float(np.diff(values).min())):
            text = (
                f"The trace ends flat at its {words} value, {sign * values[-1]:.6g} uV"
                f" ({counts[-1]} samples), and goes on beyond as far on the other side."
            )
            yield Note("clipped", text)
            return


def _is_cut(values: np.ndarray, counts: np.ndarray, step: float) -> bool:
    """Whether the upper end of a histogram is cut off and piled up; ``values`` ascend."""
    total = int(counts.sum())
    above = np.cumsum(counts)
    middle_at = int(np.searchsorted(above, total / 2))
    middle = _middle(values, counts, above, middle_at, step)
    mirror = 2 * middle - values[-1]
    beyond = int(counts[values < mirror - 0.75 * step].sum())
    piled = int(counts[-1])
    if beyond < FEWEST_BEYOND or piled > MOST_CUT * total:
        return False
    at_mirror = int(counts[values < mirror + 0.5 * step].sum())
    return piled > 0.8 * at_mirror - SURE * math.sqrt(at_mirror)


def _middle(
    values: np.ndarray, counts: np.ndarray, above: np.ndarray, at: int, step: float
) -> float:
    """The median, within its step: a coarse step would put the mirror off by half of one."""
    before = above[at] - counts[at]
    share = (above[-1] / 2 - before) / counts[at]
    return float(values[at] + (share - 0.5) * step)
