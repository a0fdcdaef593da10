"""Where samples lack in a time column: shifts of the stamps that last, against a straight line."""

from __future__ import annotations

import numpy as np

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


def lasting_shifts(
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
    counts_units = in_whole_units(steps, unit, WHOLE_UNITS)
    if is_rounding and not (counts_units and _is_odd_rate(1 / slope, unit, steps, stated_hz)):
        return none
    if counts_units or scatter < STEADY * step:
        return _by_steps(t, steps, step)
    width = int(np.ceil(2.0 * (scatter / (SURE * step)) ** 2))
    if width > min(WIDEST, len(t) // 8):
        return None
    lacking = none
    for _ in range(PASSES):
        places = places_of(lacking)
        found = _by_sides(t - t[0] - step * places, steps, step, width)
        if not found.any():
            break
        lacking = lacking + found
        step, _ = line_through(places_of(lacking), t)
    if width <= BOTH_SIDES:
        lacking = _those_that_last(t, lacking, step)
    explains = _explains(t, lacking, scatter + quantum)
    lacking = lacking if explains else none
    return lacking if explains or _spread(t, none) < FARTHEST * step else None


def places_of(lacking: np.ndarray) -> np.ndarray:
    """Which sample each stamp belongs to, counted from the first, those that lack counted too."""
    return np.concatenate(([0], np.cumsum(1 + lacking)))


def line_through(place: np.ndarray, t: np.ndarray) -> tuple[float, np.ndarray]:
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


def in_whole_units(steps: np.ndarray, unit: float, share: float) -> bool:
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
    if in_whole_units(steps, unit, ALL_BUT_FEW):
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
    return float(np.std(line_through(places_of(lacking), t)[1]))


def _by_steps(t: np.ndarray, steps: np.ndarray, step: float) -> np.ndarray:
    """Samples that lack by each step alone, counted with the slope they leave."""
    lacking = np.full(len(steps), -1, dtype=np.int64)
    for _ in range(PASSES):
        counted = np.clip(np.rint(steps / step) - 1.0, 0.0, MOST_LACKING).astype(np.int64)
        if np.array_equal(counted, lacking):
            break
        lacking = counted
        slope, _ = line_through(places_of(lacking), t)
        if not 0.5 * step < slope < 2.0 * step:
            break
        step = slope
    return _those_that_last(t, lacking, step)


def _those_that_last(t: np.ndarray, lacking: np.ndarray, step: float) -> np.ndarray:
    """The gaps as far as the stamps stay where each puts them; a stamp that is only late comes
    back, and those after it then lie whole steps before their places.
    """
    lasting = lacking.copy()
    for _ in range(PASSES):
        after = np.flatnonzero(lasting)
        back = _comes_back(t, lasting, after, step)
        worst = back > np.maximum(0, np.maximum(_beside(after, back, 1), _beside(after, back, -1)))
        if not worst.any():
            break
        lasting[after[worst]] = np.maximum(lasting[after[worst]] - back[worst], 0)
    return lasting


def _comes_back(t: np.ndarray, lacking: np.ndarray, after: np.ndarray, step: float) -> np.ndarray:
    """By how many steps the stamps behind each gap lie before where it puts them."""
    off = t - step * places_of(lacking)
    sides = np.arange(BOTH_SIDES)
    before = np.median(off[np.maximum(after[:, None] - sides, 0)], axis=1)
    behind = np.median(off[np.minimum(after[:, None] + 1 + sides, len(off) - 1)], axis=1)
    steps = np.clip((before - behind) / step, 0.0, MOST_LACKING)
    return np.rint(steps).astype(np.int64)


def _beside(after: np.ndarray, back: np.ndarray, way: int) -> np.ndarray:
    """The value of the gap before (1; less one, so that of two alike the first counts) or behind
    (-1), where it is so near that one disturbs the other; else 0.
    """
    near = np.abs(np.roll(after, way) - after) <= BOTH_SIDES
    value = np.roll(back, way) - (way < 0)
    if len(near):
        near[0 if way > 0 else -1] = False
    return np.where(near, value, 0)


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


def _median(values: np.ndarray) -> float:
    return float(np.median(values))
