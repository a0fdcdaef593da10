"""The steps of a time column: the rate, whether they are steady, and where samples lack.

Each stamp is judged against a straight line, not against its neighbour: a stamp that is only late
comes back to the line, a sample that lacks moves all that follow off it by a whole step.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .decimals import written_step
from .time_gaps import WHOLE_UNITS, in_whole_units, lasting_shifts, line_through, places_of

PROBED = 200
"""So many stamps show the last decimal."""
FEW_STEPS = 25


@dataclass(frozen=True, eq=False)
class Steps:
    """The steps of a time column of n samples.

    Attributes
    ----------
    rate_hz : float
        Samples per second: by the straight line through all stamps, gaps taken out.
    rate_tolerance : float
        Relative uncertainty of ``rate_hz`` from the decimals the times were written with, and from
        their scatter.
    gap_after, gap_samples : numpy.ndarray
        Shape (g,): index of the sample before each gap, and how many samples lack in it.
    repeated, backward, uneven : numpy.ndarray
        Indices i whose step to i + 1 is zero, negative, or off the line and no gap.
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


def measure_steps(t: np.ndarray, stated_hz: float | None = None) -> Steps | None:
    """Judge the steps of a time column.

    Parameters
    ----------
    t : numpy.ndarray
        Shape (n,), seconds, finite.
    stated_hz : float or None
        The rate that file or operator state: of two readings of coarse times it decides.

    Returns
    -------
    Steps or None
        ``None`` where the stamps follow no line (no steady rate), or n < 3.

    Notes
    -----
    Times are written with few decimals, so a stamp may be off by less than one unit of the last
    decimal without meaning anything. Stamps of a computer's clock scatter by the moment at which a
    packet was fetched; the converter does not. What counts is a shift that lasts.
    """
    if len(t) < 3:
        return None
    with np.errstate(over="ignore", invalid="ignore"):
        steps = np.diff(t)
        mean = float(t[-1] - t[0]) / len(steps)
        if not np.isfinite(mean):
            return None
        quantum = _last_decimal(t)
        clean = _clean(t, steps, mean, quantum)
        return clean or _sorted_out(t, steps, mean, quantum, stated_hz)


def _last_decimal(t: np.ndarray) -> float:
    """One unit of the last decimal: by neighbours, for every fiftieth stamp may be a round one."""
    third = min(len(t), PROBED) // 3 or 1
    middle = len(t) // 2
    return written_step(np.concatenate((t[:third], t[middle : middle + third], t[-third:])))


def _median(values: np.ndarray) -> float:
    return float(np.median(values))


def _clean(t: np.ndarray, steps: np.ndarray, mean: float, quantum: float) -> Steps | None:
    """The steps of a column in which none is odd, told by their extremes and without a fit."""
    allowed = max(1.01 * quantum, 0.3 * mean)
    if mean <= 0.0 or quantum >= 0.5 * mean:
        return None
    if steps.max() > mean + allowed or steps.min() < mean - allowed:
        return None
    rate, tolerance = _whole(1.0 / mean, 2.0 * quantum / float(t[-1] - t[0]))
    none = np.zeros(0, dtype=np.int64)
    return Steps(rate, tolerance, none, none, none, none, none, 1.0)


def _whole(rate: float, tolerance: float) -> tuple[float, float]:
    """A rate, whole where that is as true, and its relative uncertainty."""
    tolerance = min(1.0, tolerance)
    if abs(rate - round(rate)) <= rate * tolerance:
        rate = float(round(rate))
    return rate, tolerance


def _sorted_out(
    t: np.ndarray, steps: np.ndarray, mean: float, quantum: float, stated_hz: float | None
) -> Steps | None:
    scatter = _scatter(steps, quantum)
    step = _first_step(t, steps, mean, scatter, quantum)
    if not 0.0 < step < np.inf:
        return None
    lacking = lasting_shifts(t, steps, step, scatter, quantum, stated_hz)
    if lacking is None:
        return None
    place = places_of(lacking)
    step, off = line_through(place, t)
    if not step > 0.0:
        return None
    scatter = _spread_of_most(off)
    kinds = _kinds(steps, off, lacking, step, max(1.01 * quantum, 0.3 * step, 6.0 * scatter))
    repeated, backward, uneven = kinds
    if quantum >= 0.5 * step and not in_whole_units(steps, _median(steps), WHOLE_UNITS):
        # A clock that counts in coarse units stands still without meaning anything.
        repeated = np.zeros(len(steps), dtype=bool)
    regular = 1.0 - float((repeated | backward | uneven | (lacking > 0)).mean())
    if regular < 0.5:
        return None
    spread = 2.0 * quantum + 4.0 * scatter / np.sqrt(len(t) / 12.0)
    rate, tolerance = _whole(1.0 / step, spread / (step * float(place[-1])))
    gap_after = np.flatnonzero(lacking > 0)
    return Steps(
        rate,
        tolerance,
        gap_after,
        lacking[gap_after],
        np.flatnonzero(repeated),
        np.flatnonzero(backward),
        np.flatnonzero(uneven),
        regular,
    )


def _kinds(
    steps: np.ndarray, off: np.ndarray, lacking: np.ndarray, step: float, allowed: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Which steps stand still, run backward, or are off the line by more than ``allowed`` (s)."""
    far = np.abs(off) > allowed
    moved = np.abs(steps - (1 + lacking) * step) > allowed
    odd = moved & (far[1:] | far[:-1]) & (lacking == 0)
    backward = steps < 0.0
    # Among stamps that scatter by as much two are the same now and then.
    repeated = (steps == 0.0) & (allowed < 2.0 * step)
    return repeated, backward, odd & ~backward & ~repeated


def _first_step(
    t: np.ndarray, steps: np.ndarray, mean: float, scatter: float, quantum: float
) -> float:
    """The step of a column, roughly: the median over one step, or over so many that rounding and
    scatter are small, and few enough that in most of these stretches nothing lacks.
    """
    middle = _median(steps)
    if mean <= 0.0:
        return middle
    lag = int(min(len(t) // 4, FEW_STEPS, max(1.0, np.ceil(FEW_STEPS * scatter / mean))))
    if lag <= 1 or in_whole_units(steps, middle, WHOLE_UNITS):
        return middle
    apart = t[lag:] - t[:-lag]
    near = np.abs(apart - _median(apart)) <= max(1.5 * quantum, 3.0 * scatter)
    return float(apart[near].mean()) / lag if near.any() else middle


def _scatter(steps: np.ndarray, quantum: float) -> float:
    """How far single stamps scatter, seconds RMS: by the spread of the steps, or by rounding."""
    spread = 1.4826 * _median(np.abs(steps - _median(steps))) / np.sqrt(2.0)
    return max(float(spread), quantum / np.sqrt(12.0))


def _spread_of_most(off: np.ndarray) -> float:
    """RMS of stamps about their line, by half of them or by nineteen in twenty: of stamps that are
    rounded half may stand on it exactly.
    """
    size = np.abs(off - _median(off))
    return float(max(1.4826 * _median(size), np.quantile(size, 0.95) / 1.96))
