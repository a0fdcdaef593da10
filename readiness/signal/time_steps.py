"""The steps of a time column: the rate, whether they are steady, and where samples lack.

Each stamp is judged against a straight line, not against its neighbour: a stamp that is only late
comes back to the line, a sample that lacks moves all that follow off it by a whole step.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .decimals import written_step

MOST_LACKING = 8e6
"""A gap is counted up to so many samples: some times are written in years."""
STEADY = 0.08
"""Stamps that scatter by less than this share of a step tell each step by itself."""
SURE = 0.1
"""A lasting shift is told by the stamps on both sides of it, so many that their means are sure to
this share of a step: a shift of one step is then ten standard deviations.
"""
WIDEST = 400
"""Stamps on one side beyond which a scatter is no more one of single stamps."""
ROUNDED = 1.02
"""Stamps rounded to their last decimal lie within one unit of it about a line; a little more for
the fit of the line.
"""
PASSES = 4
PROBED = 200
"""So many stamps show the last decimal."""
FEW_STEPS = 25
FARTHEST = 8.0
"""Stamps that scatter by so many steps about their line follow none."""
BOTH_SIDES = 5
"""Stamps on each side of a gap that say whether it lasts: three of five are not late."""
WHOLE_UNITS = 0.98
"""So many steps of the very same size are a clock of that unit."""
ALL_BUT_FEW = 0.999
"""So many are one whatever the rate: a crystal is right to a tenth of that."""
USUAL_HZ = 5.0
"""Rates are built as multiples of that, or as a megahertz divided by two again and again."""


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
    lacking = _lasting_shifts(t, steps, step, scatter, quantum, stated_hz)
    if lacking is None:
        return None
    place = _places(lacking)
    step, off = _line(place, t)
    if not step > 0.0:
        return None
    scatter = _spread_of_most(off)
    kinds = _kinds(steps, off, lacking, step, max(1.01 * quantum, 0.3 * step, 6.0 * scatter))
    repeated, backward, uneven = kinds
    if quantum >= 0.5 * step and not _in_whole_units(steps, _median(steps), WHOLE_UNITS):
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
    if lag <= 1 or _in_whole_units(steps, middle, WHOLE_UNITS):
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


def _places(lacking: np.ndarray) -> np.ndarray:
    """Which sample each stamp belongs to, counted from the first, those that lack counted too."""
    return np.concatenate(([0], np.cumsum(1 + lacking)))


def _line(place: np.ndarray, t: np.ndarray) -> tuple[float, np.ndarray]:
    """Slope of the straight line through stamps at their places, and how far each is off it; stamps
    far off do not pull at it.
    """
    slope, off = _plain_line(place, t)
    for _ in range(2):
        size = np.abs(off - _median(off))
        near = size <= max(6.0 * _median(size), 1e-12)
        if near.all() or np.count_nonzero(near) < 0.5 * len(t):
            break
        slope, _ = _plain_line(place[near], t[near])
        off = t - slope * place
        off -= float(off[near].mean())
    return slope, off


def _plain_line(place: np.ndarray, t: np.ndarray) -> tuple[float, np.ndarray]:
    """Least squares: slope, and how far each stamp is off."""
    x, y = place - place.mean(), t - t.mean()
    # Sums by numpy: a threaded product of so few numbers costs more than it saves.
    slope = float((x * y).sum()) / max(float((x * x).sum()), 1e-300)
    return slope, y - slope * x


def _lasting_shifts(
    t: np.ndarray,
    steps: np.ndarray,
    step: float,
    scatter: float,
    quantum: float,
    stated_hz: float | None,
) -> np.ndarray | None:
    """How many samples lack after each stamp, shape (n - 1,)."""
    none = np.zeros(len(steps), dtype=np.int64)
    slope, off = _plain_line(np.arange(len(t)), t)
    is_rounding = slope > 0.0 and float(np.ptp(off)) <= ROUNDED * quantum
    unit = _median(steps)
    in_whole_units = _in_whole_units(steps, unit, WHOLE_UNITS)
    if is_rounding and not (in_whole_units and _is_odd_rate(1 / slope, unit, steps, stated_hz)):
        return none
    if in_whole_units or scatter < STEADY * step:
        return _by_steps(t, steps, step)
    width = int(np.ceil(2.0 * (scatter / (SURE * step)) ** 2))
    if width > min(WIDEST, len(t) // 8):
        return None
    lacking = none
    for _ in range(PASSES):
        places = _places(lacking)
        found = _by_sides(t - t[0] - step * places, steps, step, width)
        if not found.any():
            break
        lacking = lacking + found
        step, _ = _line(_places(lacking), t)
    explains = _explains(t, lacking, scatter + quantum)
    lacking = lacking if explains else none
    return lacking if explains or _spread(t, none) < FARTHEST * step else None


def _in_whole_units(steps: np.ndarray, unit: float, share: float) -> bool:
    """Whether so large a share of the steps is the very same: an odd one among them is then no
    rounding of a finer step.
    """
    if unit <= 0.0:
        return False
    equal = np.count_nonzero(np.abs(steps - unit) < 1e-3 * unit)
    return bool(equal >= share * len(steps))


def _is_odd_rate(rate: float, unit: float, steps: np.ndarray, stated_hz: float | None) -> bool:
    """Whether the rate that makes odd steps among whole units mere rounding is one that nobody
    states or builds: then samples lack at the rate of the unit.
    """
    if stated_hz is not None:
        return abs(stated_hz * unit - 1.0) < abs(stated_hz / rate - 1.0)
    if _in_whole_units(steps, unit, ALL_BUT_FEW):
        return True
    sure = 2.0 * rate / len(steps)
    usual = [USUAL_HZ * round(rate / USUAL_HZ), *(1e6 / 2.0**k for k in range(6, 13))]
    return all(abs(rate - hz) > sure for hz in usual)


def _explains(t: np.ndarray, lacking: np.ndarray, scatter: float) -> bool:
    """Whether gaps bring the stamps so much nearer to a line that chance does not (the criterion of
    Schwarz 1978, two numbers for each gap), and as near as they scatter from one to the next.
    """
    gaps = int(np.count_nonzero(lacking))
    without, with_gaps = _spread(t, np.zeros_like(lacking)), _spread(t, lacking)
    gain = 2.0 * len(t) * np.log(max(without, 1e-300) / max(with_gaps, 1e-300))
    return bool(gain > 2 * gaps * np.log(len(t)) and with_gaps < 2.5 * scatter)


def _spread(t: np.ndarray, lacking: np.ndarray) -> float:
    """RMS of the stamps about their line, seconds."""
    return float(np.std(_line(_places(lacking), t)[1]))


def _by_steps(t: np.ndarray, steps: np.ndarray, step: float) -> np.ndarray:
    """Samples that lack by each step alone, counted with the slope they leave."""
    lacking = np.full(len(steps), -1, dtype=np.int64)
    for _ in range(PASSES):
        counted = np.clip(np.rint(steps / step) - 1.0, 0.0, MOST_LACKING).astype(np.int64)
        if np.array_equal(counted, lacking):
            break
        lacking = counted
        slope, _ = _line(_places(lacking), t)
        if not 0.5 * step < slope < 2.0 * step:
            break
        step = slope
    return _those_that_last(t, lacking, step)


def _those_that_last(t: np.ndarray, lacking: np.ndarray, step: float) -> np.ndarray:
    """The gaps after which the stamps stay where the gap puts them; a stamp that is only late comes
    back, and those after it then lie a whole step before their places.
    """
    after = np.flatnonzero(lacking)
    off = t - step * _places(lacking)
    sides = np.arange(BOTH_SIDES)
    before = off[np.maximum(after[:, None] - sides, 0)]
    behind = off[np.minimum(after[:, None] + 1 + sides, len(off) - 1)]
    back = np.median(behind, axis=1) - np.median(before, axis=1) < -0.5 * step
    lasting = lacking.copy()
    lasting[after[back]] = 0
    return lasting


def _by_sides(off: np.ndarray, steps: np.ndarray, step: float, width: int) -> np.ndarray:
    """Samples that lack where the mean of the stamps after a place is a step or more above that of
    the stamps before it.
    """
    sums = np.concatenate(([0.0], np.cumsum(off)))
    index = np.arange(1, len(off))
    before, after = np.maximum(index - width, 0), np.minimum(index + width, len(off))
    shift = (sums[after] - sums[index]) / (after - index)
    shift -= (sums[index] - sums[before]) / (index - before)
    near_end = np.minimum(index, len(off) - index) < width
    shift[near_end & (steps < 1.5 * step)] = 0.0
    lacking = np.zeros(len(steps), dtype=np.int64)
    left = shift > 0.5 * step
    while left.any():
        top = int(np.argmax(np.where(left, shift, -np.inf)))
        begin = max(0, top - width // 2)
        near = slice(begin, top + width // 2 + 1)
        at = begin + int(np.argmax(np.where(left[near], steps[near], -np.inf)))
        lacking[at] = int(min(max(1.0, np.rint(shift[top] / step)), MOST_LACKING))
        left[max(0, top - width) : top + width + 1] = False
    return lacking
