"""A notch at the mains: what it leaves of a line's place, noise and all."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from readiness.signal.statistics.robust import read_only, row_medians

from .mains import hann

NOTCH_QS = (3.0, 5.0, 10.0, 20.0, 30.0, 50.0)
NOTCH_FLOOR = 0.02
SURE_NOTCH = 9.0
"""A notch explains the bins around the mains so much better (logarithm of the odds). Raw noise of
twelve tries comes there once in some hundred captures at most, in truth hardly ever.
"""
SURE_AMID_HANDS = 30.0
"""A contact that opens for a sixtieth of a second leaves a hole at 60 Hz by itself."""
SURE_ELSEWHERE = 16.0
"""Beside the mains of the room its skirts make holes of their own."""
LINE_HZ = 0.22
"""The line itself is left out: what a notch leaves of it, or all of it."""


def notch_hz(samples: np.ndarray, rate: float, nominal_hz: dict[float, float]) -> float | None:
    """Where a notch has taken the mains out, noise and all; ``None`` where none did.

    The bins of a whole record's periodogram around the place are exponential about the level
    beside it in a raw trace, and about that level times the gain of a notch in another. Which it is
    is told by the ratio of the likelihoods.

    Parameters
    ----------
    nominal_hz : dict
        Frequencies to look at, and the logarithm of the odds asked for at each.
    """
    count = len(samples)
    bins = np.fft.rfft((samples - samples.mean()) * hann(count))
    power = bins.real**2 + bins.imag**2
    step = rate / count
    for nominal, odds in nominal_hz.items():
        if nominal < 0.45 * rate and _notch_odds(power, step, nominal) > odds:
            return nominal
    return None


def _notch_odds(power: np.ndarray, step: float, nominal: float) -> float:
    """Logarithm of the odds for a notch at a nominal frequency, the best of several widths."""
    laws, sides = _laws(len(power), step, nominal)
    best = -np.inf
    if not laws:
        return best
    # The lower of both sides: hum of the other mains, or a hand, lifts one of them.
    levels = row_medians(power[sides]).reshape(-1, 2).min(axis=1) / np.log(2.0)
    for law, level in zip(laws, levels.tolist(), strict=True):
        if level <= 0.0:
            continue
        seen = power[law.bins] / level
        for constant, slope in law.passed:
            # Hann's window makes three neighbours tell what two would.
            best = max(best, float((constant + seen * slope).sum()) / 1.5)
    return best


@dataclass(frozen=True, eq=False)
class _Law:
    """What a notch of one width does: the ``bins`` (m,) that it reaches, without the line itself,
    and, ``passed`` once and twice, what the odds are at no power in each of them and what they gain
    with it, (m,).
    """

    bins: np.ndarray
    passed: tuple[tuple[np.ndarray, np.ndarray], ...]


@lru_cache(maxsize=16)
def _laws(count: int, step: float, nominal: float) -> tuple[list[_Law], np.ndarray]:
    """Of each width for which ``count`` bins hold what is beside it: its law, and in two rows of
    the array (2 k, w) the bins below and above.
    """
    laws: list[_Law] = []
    sides: list[np.ndarray] = []
    side = np.arange(int(4.0 / step))
    for q in NOTCH_QS:
        reach = 1.5 * nominal / q
        low, high = int((nominal - reach) / step), int((nominal + reach) / step) + 1
        if low <= len(side) or high + len(side) > count:
            continue
        bins = np.arange(low, high)
        bins = bins[np.abs(bins * step - nominal) > LINE_HZ]
        x = (bins * step - nominal) * 2.0 * q / nominal
        gains = [np.maximum((x**2 / (1.0 + x**2)) ** passes, NOTCH_FLOOR) for passes in (1, 2)]
        passed = [(read_only(-np.log(gain)), read_only(1.0 - 1.0 / gain)) for gain in gains]
        laws.append(_Law(read_only(bins), tuple(passed)))
        sides += [low - len(side) + side, high + side]
    return laws, np.array(sides)
