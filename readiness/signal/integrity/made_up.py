"""Traces whose samples were computed from others: rectified, held or drawn in between, sorted."""

from __future__ import annotations

from statistics import NormalDist

import numpy as np

from readiness.signal.statistics.robust import different, median, middle_of

from .converter import smallest_step, step_between

ONE_SIDED = 0.7
HIGH = 2.5
"""How near to zero an envelope of noise comes, and how high it stands, over the noise limit."""
STILL_S = 1.9
"""Before any hand moves: later an input may well go to one side."""
NEAR = 0.2
FOLDED = 0.05
"""Share of the samples within a fifth of the median from the end where a trace was folded: a folded
bell has 10.7 % there, a folded sine 9 %, and the tail of noise a thousandth.
"""
MIRRORED = 0.45
"""How far apart the two sides of a trace may lie round its median (a logarithm): 0.4 by chance in
two seconds of noise or hum, from 0.75 on in folded noise.
"""
ENDS_ALIKE = 3.0
"""The low end of folded noise holds more than five times what its tail does."""
MIRRORED_AT = (0.02, 0.05, 0.1, 0.2, 0.3, 0.4)
FEWEST_CODES = 4
FEWEST_LEVELS = 20
LEANS = -0.2
"""Skewness of second differences below which they lean: half of that of a folded bell."""
SCATTERS, SURE = 3.1, 3.5
"""The skewness of so many second differences of raw noise scatters by this over their root; so many
standard deviations from zero are no chance.
"""
IN_ONE_PIECE = 0.3
CUT = 0.3
"""A half wave has half of its samples at exactly zero."""
MOST_FACTOR = 16
"""Programs fill up from a rate so many times lower at most."""
MADE = 0.2
"""Second differences of made-up samples against those of the true ones."""
ALIKE = 2.0
PART = 240
MOST_PARTS = 0.85
ALIKE_SHARE = 0.1
"""Neighbours are the same too often: by so large a factor and share more than by rounding."""
CLIPPED_AT = 6.0
PILED_UP = 1.5


def what_was_made(
    samples: np.ndarray, rate_hz: float, *, rests: bool, hums: bool, in_its_place: bool = False
) -> str:
    """What was computed of a trace, in words; empty for a trace that may be raw.

    Parameters
    ----------
    samples : numpy.ndarray
        Shape (n,), microvolts, finite.
    rests : bool
        Whether nothing moves in the whole capture; else only the still part at its head is looked
        at for what hands could do too.
    hums : bool
        Whether the mains makes up most of the trace: its shape may lean by itself.
    in_its_place : bool
        Whether what hums does so at the mains' own frequency; folded it would at twice that.
    """
    still = samples if rests else samples[: round(STILL_S * rate_hz)]
    ordered = np.sort(still)
    return (
        _folded(still, ordered, may_mirror=in_its_place or not hums)
        or ("" if hums else _folded_and_moved(still, ordered, rate_hz))
        or _drawn_between(still)
        or _doubled(still, ordered)
    )


def is_one_sided(still: np.ndarray, noise_limit_uv: float) -> bool:
    """Whether a still trace keeps to one side of zero, comes near it and is no higher than a noise
    may be: an offset is so small and yet so large once in a thousand amplifiers.
    """
    for y in (still, -still):
        if y.min() >= 0.0:
            middle = median(y)
            return bool(y.min() < ONE_SIDED * middle < HIGH * ONE_SIDED * noise_limit_uv)
    return False


def _folded(x: np.ndarray, ordered: np.ndarray, *, may_mirror: bool) -> str:
    """A trace with a hard edge on one side, where its samples are densest. A raw one whose lowest
    sample happens to be zero is the mirror of its upper half.
    """
    if ordered[0] < 0.0 < ordered[-1]:
        return ""
    for y in (x, -x):
        low = float(y.min())
        if low < 0.0:
            continue
        at_zero = float(np.mean(y == 0.0))
        if CUT < at_zero < 1.0 - CUT and len(np.unique(y)) >= FEWEST_CODES:
            return "it was cut to one side (half-wave rectified)"
        middle = median(y)
        near = float(np.mean(y <= NEAR * middle))
        if low <= 0.05 * middle and near > FOLDED and len(np.unique(y)) >= FEWEST_CODES:
            if may_mirror and _is_mirrored(y):
                return ""
            return "it was rectified: all of it is on one side of zero, and densest there"
    return ""


def _is_mirrored(y: np.ndarray) -> bool:
    """Whether both sides of a trace fall off alike round its median, and end alike."""
    middle = float(np.median(y))
    step = smallest_step(y) or 1e-9
    near = NEAR * middle + step / 2
    ends = np.mean(y <= near), np.mean(y >= y.max() - near)
    if max(ends) > ENDS_ALIKE * min(ends):
        return False
    lower = middle - np.quantile(y, MIRRORED_AT)
    upper = np.quantile(y, 1 - np.array(MIRRORED_AT)) - middle
    apart = np.abs(np.log(np.maximum(lower, step) / np.maximum(upper, step)))
    return bool(np.all((apart < MIRRORED) | (np.abs(lower - upper) < 1.5 * step)))


def _folded_and_moved(x: np.ndarray, ordered: np.ndarray, rate_hz: float) -> str:
    """A folded trace whose mean was taken out: one side is hard, wherever it lies now, and the
    other is a tail. Hum is dense at both of its ends.
    """
    lag = max(1, round(rate_hz / 800.0))
    step = step_between(different(ordered), len(x)) or 0.0
    up = _has_hard_edge(x - ordered[0], ordered - ordered[0], step, lag)
    down = _has_hard_edge(ordered[-1] - x, ordered[-1] - ordered[::-1], step, lag)
    if up == down:
        return ""
    leans = min(LEANS, -SURE * SCATTERS / np.sqrt(len(x) / lag))
    if _skewness(x if up else -x, lag) < leans:
        return "it was rectified: one side ends where its samples are densest"
    return ""


def _has_hard_edge(above: np.ndarray, ordered: np.ndarray, step: float, lag: int) -> bool:
    """Whether many samples lie at the lowest, and come and go. A tail holds few, and a plateau
    comes in one piece: there the samples `lag` later are low far more often than others.

    ``above`` (n,) counts from the lowest; ``ordered`` holds the same in order.
    """
    if _piled_up(ordered):
        return False
    width = max(0.1 * middle_of(ordered), step)
    near = above < 1.9 * width
    if not FOLDED < float(near.mean()) < 0.5:
        return False
    low = above < 2.9 * width
    stays = float(np.mean(low[lag:][near[:-lag]]))
    return stays < float(low.mean()) + IN_ONE_PIECE


def _piled_up(ordered: np.ndarray) -> bool:
    """Whether far more samples lie at the lowest code than at the next: tops that were cut off. The
    lowest code of a folded trace holds half of what the next one does.
    """
    lowest = int(np.searchsorted(ordered, ordered[0], "right"))
    if lowest == len(ordered):
        return False
    next_up = int(np.searchsorted(ordered, ordered[lowest], "right")) - lowest
    return lowest > PILED_UP * next_up


def _skewness(y: np.ndarray, lag: int) -> float:
    """Skewness of second differences: -0.4 for those of a folded bell; hum, steps and quantised
    noise lean to neither side. They are taken so far apart that a band limit does not tie them.
    """
    second = y[2 * lag :] - 2.0 * y[lag:-lag] + y[: -2 * lag]
    spread = 1.4826 * median(np.abs(second))
    if spread <= 0.0:
        return 0.0
    clipped = np.clip(second / spread, -CLIPPED_AT, CLIPPED_AT)
    return float(np.mean(clipped**3)) / float(np.mean(clipped**2)) ** 1.5


def _drawn_between(x: np.ndarray) -> str:
    """Samples on straight lines between others, or the same as others, at a steady distance."""
    steps = np.diff(x)
    bends = np.abs(np.diff(steps))
    first = np.abs(steps)
    ones = np.ones(len(x))
    for size, what in ((bends, "drawn in straight lines between"), (first, "repeats of")):
        limit = CLIPPED_AT * float(size.mean())
        if limit <= 0.0:
            continue
        size = np.minimum(size, limit)
        for factor in range(MOST_FACTOR, 1, -1):
            rows = size[: len(size) // factor * factor].reshape(-1, factor)
            # A product sums narrow rows in a twentieth of the time that ``mean`` takes.
            *_, second, highest = sorted((ones[: len(rows)] @ rows).tolist())
            if second < MADE * highest:
                return (
                    f"it was filled up from a rate {factor} times lower: {factor - 1} of {factor}"
                    f" samples are {what} the others"
                )
    return ""


def _doubled(x: np.ndarray, ordered: np.ndarray) -> str:
    """Neighbours that are the same far more often than one step apart: a filter that picks samples
    out, or a rate that was filled up unevenly.
    """
    # At a rail neighbours are the same without any help.
    lowest, highest = ordered[0], ordered[-1]
    between = ordered[(ordered > lowest) & (ordered < highest)]
    if len(different(between)) < FEWEST_LEVELS:
        return ""
    x = x[(x > lowest) & (x < highest)]
    apart = np.abs(np.diff(x))
    same = int(np.count_nonzero(apart == 0.0))
    if same < max(1.0, ALIKE_SHARE * len(apart)):
        return ""
    step = smallest_step(x)
    # Part by part, for a hand that comes in makes one of them wider than the others.
    parts = np.array_split(apart, max(1, len(apart) // PART))
    too_often = [
        step is None or np.mean(part == 0.0) > ALIKE * _alike_by_chance(part / step) + ALIKE_SHARE
        for part in parts
    ]
    if np.mean(too_often) > MOST_PARTS:
        return "its samples are sorted or filled up: neighbours are the very same too often"
    return ""


def _alike_by_chance(steps: np.ndarray) -> float:
    """How often neighbours are the same by rounding: differences are told in whole steps, and four
    fifths of them say how wide the bell behind them is.
    """
    widest = max(1.0, float(np.round(np.quantile(steps, 0.8))))
    within = float(np.mean(steps <= widest + 0.5))
    sd = (widest + 0.5) / NormalDist().inv_cdf(0.5 + min(within, 0.9999) / 2)
    # Two roundings make a triangle of one step on both sides.
    off = (np.arange(400) + 0.5) / 400
    density = np.exp(-0.5 * (off / sd) ** 2) / (sd * np.sqrt(2 * np.pi))
    return float(2 * np.mean((1 - off) * density))
