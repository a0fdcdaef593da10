"""Plain spectral figures, made without the code under test."""

from __future__ import annotations

import numpy as np


def band_rms(x: np.ndarray, rate_hz: float, low: float, high: float) -> float:
    """RMS between two frequencies by the plain periodogram (Parseval, row N7)."""
    freq = np.fft.rfftfreq(len(x), 1 / rate_hz)
    power = np.abs(np.fft.rfft(x)) ** 2
    return float(np.sqrt(2 * power[(freq >= low) & (freq < high)].sum()) / len(x))


def hum_uv(
    x: np.ndarray, rate_hz: float, hz: float, start_s: float = 0.0, end_s: float = 10.0
) -> float:
    """Peak of the line at ``hz`` by a Hann-weighted correlation."""
    piece = x[int(start_s * rate_hz) : int(end_s * rate_hz)]
    window = np.hanning(len(piece))
    turn = np.exp(-2j * np.pi * hz * np.arange(len(piece)) / rate_hz)
    return float(2 * abs(((piece - piece.mean()) * window * turn).sum()) / window.sum())
