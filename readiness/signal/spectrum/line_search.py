"""Where mains harmonics are looked for in the periodogram of a whole record, and which of them
stand out.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

SEARCH_HZ = 0.5
"""A public grid stays within 0.5 Hz of its nominal frequency; a line farther away means a wrong
time base.
"""
HIGHEST_ORDER = 25
"""Rectifier harmonics above the 25th lie beyond the anti-alias filter of every rate in use."""
STANDS_OUT = 12.0
"""Peak over local mean of a periodogram: noise alone passes it in exp(-12) = 6e-6 of the bins
looked at.
"""


def alias_hz(frequency: npt.ArrayLike, rate: float) -> np.ndarray:
    """Where ``frequency`` appears after sampling at ``rate`` (both Hz): folded into 0 .. rate /
    2.
    """
    folded = np.mod(frequency, rate)
    return np.minimum(folded, rate - folded)


@dataclass(frozen=True, eq=False)
class _Search:
    """Where the orders of a nominal frequency are looked for in a record of one length and rate.

    Per order (k,): ``orders`` and ``centres`` in Hz; bins (k, w) of the place itself in ``inner``,
    of its neighbours on both sides in ``sides`` with those beyond the ends in ``outside``; how many
    neighbours there are in ``counts``, and which of them, ordered by size, make up the lower 90 %
    in ``lower``.
    """

    orders: np.ndarray
    centres: np.ndarray
    inner: np.ndarray
    sides: np.ndarray
    outside: np.ndarray
    counts: np.ndarray
    lower: np.ndarray


@lru_cache(maxsize=16)
def _search(count: int, rate: float, nominal: float) -> _Search:
    step, size = rate / count, count // 2 + 1
    orders = np.arange(1, min(HIGHEST_ORDER, int(2 * rate / nominal)) + 1)
    centres = alias_hz(orders * nominal, rate)
    orders, centres = orders[centres >= 10], centres[centres >= 10]  # below that movement rules
    reach = SEARCH_HZ * np.minimum(orders, 4)
    low = ((centres - reach) / step).astype(int)
    high = ((centres + reach) / step).astype(int) + 2
    width = int((high - low).max(initial=1))
    inner = np.minimum(np.minimum(low[:, None] + np.arange(width), high[:, None] - 1), size - 1)
    side = np.arange(3, int(8 / step))
    bins = np.concatenate([low[:, None] - 1 - side, high[:, None] + side], axis=1)
    outside = (bins < 0) | (bins >= size)
    counts = bins.shape[1] - outside.sum(axis=1)
    lower = np.arange(bins.shape[1]) < (0.9 * counts).astype(int)[:, None]
    return _Search(
        orders, centres, np.maximum(inner, 0), np.clip(bins, 0, size - 1), outside, counts, lower
    )


def peaks(power: np.ndarray, count: int, rate: float, nominal: float) -> list[tuple[int, float]]:
    """Orders that stand out of their surroundings, each with its mean square."""
    search = _search(count, rate, nominal)
    if not len(search.orders):
        return []
    levels = _levels(power, search)
    tops = np.argmax(power[search.inner], axis=1)
    highest = power[search.inner[np.arange(len(tops)), tops]]
    lines: list[tuple[int, float]] = []
    centres: list[float] = []
    for k in np.flatnonzero((search.counts >= 10) & (highest > STANDS_OUT * levels)).tolist():
        centre, level = float(search.centres[k]), float(levels[k])
        if any(abs(centre - earlier) < 3 for earlier in centres):
            continue  # two orders folded together cannot be told apart
        inner, top = search.inner[k], int(tops[k])
        near = slice(inner[max(0, top - 2)], min(inner[top] + 2, inner[-1]) + 1)
        line = float(np.sum(power[near]) - 5 * level)
        if line > 0:
            centres.append(centre)
            lines.append((int(search.orders[k]), line))
    return lines


def _levels(power: np.ndarray, search: _Search) -> np.ndarray:
    """Mean noise of the bins on both sides of each place, from their lower 90 %."""
    around = power[search.sides]
    around[search.outside] = np.inf
    around.sort(axis=1)
    lower = np.where(search.lower, around, 0.0)
    # The lower 90 % of exponentials have 0.744 of the mean.
    levels: np.ndarray = lower.sum(axis=1) / np.maximum(search.lower.sum(axis=1), 1) / 0.744
    return levels
