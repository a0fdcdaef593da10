"""The steps of a time column: the rate, whether they are steady, and where samples lack."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .decimals import written_step

MOST_LACKING = 8e6
"""A gap is counted up to so many samples: some times are written in years."""


@dataclass(frozen=True, eq=False)
class Steps:
    """The steps of a time column of n samples.

    Attributes
    ----------
    rate_hz : float
        Samples per second: regular steps divided by their total time.
    rate_tolerance : float
        Relative uncertainty of ``rate_hz`` from the decimals the times were written with.
    gap_after, gap_samples : numpy.ndarray
        Shape (g,): index of the sample before each gap, and how many samples lack in it.
    repeated, backward, uneven : numpy.ndarray
        Indices i whose step to i + 1 is zero, negative, or neither regular nor a gap.
    regular : float
        Share of steps that are regular, 0 to 1.
    """

    rate_hz: float
    rate_tolerance: float
    gap_after: np.ndarray
    gap_samples: np.ndarray
    repeated: np.ndarray
    backward: np.ndarray
    uneven: np.ndarray
    regular: float


def measure_steps(t: np.ndarray) -> Steps | None:
    """Judge the steps of a time column.

    Parameters
    ----------
    t : numpy.ndarray
        Shape (n,), seconds, finite.

    Returns
    -------
    Steps or None
        ``None`` where fewer than half of the steps agree with their median (no steady rate), or n <
        3.

    Notes
    -----
    Times are written with few decimals, so a step may be off by less than one unit of the last
    decimal without meaning anything; beyond that and beyond 0.3 of a step (common practice, no
    published source) it is irregular.
    """
    if len(t) < 3:
        return None
    with np.errstate(over="ignore", invalid="ignore"):
        steps = np.diff(t)
        quantum = written_step(t)
        typical, allowed = _typical_step(steps, float(t[-1] - t[0]) / len(steps), quantum)
        if not 0.0 < typical < np.inf:
            return None
        near = np.abs(steps - typical) <= allowed
        count = int(np.count_nonzero(near))
        total = float(t[-1] - t[0]) if count == len(steps) else float(steps.sum(where=near))
    if count < 0.5 * len(steps) or total <= 0.0:
        return None
    rate = count / total
    tolerance = min(1.0, 2.0 * quantum / total)
    if abs(rate - round(rate)) <= rate * tolerance:
        rate = float(round(rate))
    odd = np.flatnonzero(~near)
    return _sorted_out(steps, odd, rate, tolerance, allowed, count / len(steps))


def _typical_step(steps: np.ndarray, mean: float, quantum: float) -> tuple[float, float]:
    """The step of a column, and how far a step may be from it; ``mean`` is the mean step."""
    allowed = max(1.01 * quantum, 0.3 * mean)
    if quantum < 0.5 * mean and steps.max() <= mean + allowed and steps.min() >= mean - allowed:
        return mean, allowed  # a clean column is told by its extremes, without the median
    middle = float(np.median(steps))
    if quantum < 0.5 * middle:
        return middle, max(1.01 * quantum, 0.3 * middle)
    equal = np.count_nonzero(np.abs(steps - middle) < 0.01 * quantum)
    if middle > 0.0 and equal >= 0.999 * len(steps):
        return middle, 0.3 * middle  # steps of whole last decimals: an odd one is no rounding
    return mean, max((1.0 - 1e-6) * quantum, 0.3 * mean)


def _sorted_out(
    steps: np.ndarray,
    odd: np.ndarray,
    rate: float,
    tolerance: float,
    allowed: float,
    regular: float,
) -> Steps:
    size = steps[odd]
    is_gap = size > 1.0 / rate + allowed
    gap_after = odd[is_gap]
    lacking = np.minimum(np.rint(steps[gap_after] * rate) - 1.0, MOST_LACKING)
    backward = odd[size < 0.0]
    repeated = odd[size == 0.0]
    uneven = odd[~is_gap & (size > 0.0)]
    return Steps(
        rate, tolerance, gap_after, lacking.astype(np.int64), repeated, backward, uneven, regular
    )
