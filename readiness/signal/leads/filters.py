"""The filters of a record, as responses over the frequencies of its transform."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from readiness.signal.spectrum.mains import Mains
from readiness.signal.statistics.robust import read_only

BAND_FROM_HZ = 20.0
ABRUPT_HZ = (40.0, 80.0)
"""Above this (0.16 of the rate, within these bounds) a contact that opens or closes still shows and
movement does not: a step keeps its full height behind a high-pass, while hand and cable move below
20 Hz with steep sides.
"""
ALIAS_HZ = 4.0
"""Half-width of the soft notch on a folded harmonic: wide, so that it rings for less than a tenth
of a second.
"""


def abrupt_from_hz(rate: float) -> float:
    """Where the band of abrupt events begins at a sampling rate, in Hz."""
    return min(ABRUPT_HZ[1], max(ABRUPT_HZ[0], 0.16 * rate))


@lru_cache(maxsize=8)
def axes(count: int, rate: float) -> tuple[np.ndarray, np.ndarray]:
    """Sample numbers (n,) and frequencies in Hz (n // 2 + 1,) of a record; kept, for captures come
    in like kinds.
    """
    return read_only(np.arange(count, dtype=np.float64)), read_only(
        np.arange(count // 2 + 1) * rate / count
    )


@lru_cache(maxsize=8)
def responses(count: int, rate: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Responses over the frequencies of a record: of ``band``, of ``abrupt``, and of what is slower
    than 20 Hz.
    """
    _, hz = axes(count, rate)
    corner = abrupt_from_hz(rate)
    band = _rise(hz, 0.5 * BAND_FROM_HZ, 1.5 * BAND_FROM_HZ)
    return (
        read_only(band),
        read_only(_rise(hz, 0.7 * corner, 1.3 * corner)),
        read_only(1 - _rise(hz, 16.0, 24.0)),
    )


def _rise(hz: np.ndarray, low: float, high: float) -> np.ndarray:
    """Zero below ``low``, one above ``high``, half a cosine between."""
    return 0.5 - 0.5 * np.cos(np.pi * np.clip((hz - low) / (high - low), 0, 1))


def comb(count: int, rate: float, mains: Mains) -> np.ndarray:
    """Response of x(t) - (x(t - T) + x(t + T)) / 2, T one mains period: all harmonics go, and so
    does steady change.

    It reaches no farther than one period to either side, where a sharp notch would smear a contact
    that opens over half a second. White noise keeps sqrt(3/2) of its RMS. Harmonics folded by
    sampling get a soft notch of their own.
    """
    response = 1 - _cosines(count // 2 + 1, 2 * np.pi * rate / count / mains.frequency_hz)
    _, hz = axes(count, rate)
    for order, line, _ in mains.harmonics:
        if order * mains.frequency_hz > rate / 2:
            response *= 1 - np.exp(-(((hz - line) / ALIAS_HZ) ** 2))
    return response


def _cosines(count: int, turn: float) -> np.ndarray:
    """``cos(turn * k)`` for k = 0 .. count - 1, from the sum of coarse and fine angles: one cosine
    in a hundred.
    """
    fine = turn * np.arange(128)
    coarse = turn * 128 * np.arange(-(-count // 128))
    table = np.outer(np.cos(coarse), np.cos(fine))
    table -= np.outer(np.sin(coarse), np.sin(fine))
    return table.ravel()[:count]
