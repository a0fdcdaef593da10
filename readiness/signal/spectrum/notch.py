"""A notch at the mains: what it leaves of a line's place, noise and all."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from readiness.signal.statistics.robust import median, read_only

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
    best = -np.inf
    for q in NOTCH_QS:
        low, high, away, laws = _notch_laws(step, nominal, q)
        side = int(4.0 / step)
        if low <= side or high + side > len(power):
            continue
        # The lower of both sides: hum of the other mains, or a hand, lifts one of them.
        sides = (power[low - side : low], power[high : high + side])
        level = min(median(part) for part in sides) / np.log(2.0)
        if level <= 0.0:
            continue
        seen = power[low:high][away] / level
        for constant, slope in laws:
            # Hann's window makes three neighbours tell what two would.
            best = max(best, float(np.sum(constant + seen * slope)) / 1.5)
    return best


@lru_cache(maxsize=64)
def _notch_laws(
    step: float, nominal: float, q: float
) -> tuple[int, int, np.ndarray, list[tuple[np.ndarray, np.ndarray]]]:
    """First bin that a notch reaches and one past its last, which of them (n,) are not the line
    itself, and of a notch passed once and twice what its odds are at no power in each of those and
    what they gain with it, (m,).
    """
    reach = 1.5 * nominal / q
    low, high = int((nominal - reach) / step), int((nominal + reach) / step) + 1
    hz = np.arange(low, high) * step
    away = np.abs(hz - nominal) > LINE_HZ
    x = (hz - nominal) * 2.0 * q / nominal
    gains = [np.maximum((x**2 / (1.0 + x**2)) ** passes, NOTCH_FLOOR)[away] for passes in (1, 2)]
    laws = [(read_only(-np.log(gain)), read_only(1.0 - 1.0 / gain)) for gain in gains]
    return low, high, read_only(away), laws
