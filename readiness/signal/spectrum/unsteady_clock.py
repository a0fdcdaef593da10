"""Noise that an unsteady clock makes of hum: a sample taken too early or too late is off by the
slope of the hum there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from .mains import Mains
from .noise import Floor

SURE = 1.96
BLOCKS = 9
EDGE_S = 0.5
"""Left out at both ends: the record's ends meet in the filters."""
FROM_HZ = (10.0, 30.0)
"""Between these the band without mains begins."""
REACH_HZ = 1.0
"""Hum is what lies so near to a line of the mains."""
LEAST_UV = 10.0
"""Hum below this leaves less than a tenth of a sound amplifier's noise, at a tenth of a millisecond
of jitter.
"""


SLOPE_UNKNOWN = 1.15
"""Harmonics beyond half the rate, and those too weak to be fitted, add to the slope: so much more
of the noise may be the clock's.
"""


@dataclass(frozen=True)
class ClockNoise:
    """Power in the judged band, uV^2, and its standard uncertainty."""

    power: float
    u: float

    def least_uv(self, full: Floor) -> float:
        """The lower end of the interval of a noise floor once the clock's part may be taken out, uV
        RMS: never above that of ``full``.
        """
        if self.power <= self.u:
            return full.low_uv
        rest = full.rms_uv**2 - SLOPE_UNKNOWN * self.power
        spread = math.hypot(full.rms_uv**2 * math.sqrt(2 / full.dof), self.u)
        return min(full.low_uv, math.sqrt(max(0.0, rest - SURE * spread)))


def clock_noise(
    samples: np.ndarray, combed: np.ndarray, rate: float, mains: Mains, width_hz: float
) -> ClockNoise:
    """What an unsteady clock adds to the noise of a band ``width_hz`` wide; nothing where there is
    little hum.

    Parameters
    ----------
    samples, combed : numpy.ndarray
        A capture in microvolts, shape (n,), and the same above 20 Hz without mains.

    Notes
    -----
    Noise of the amplifier is as strong at every moment. That of the clock comes with the square of
    the slope of the hum, so twice in a period, and is white: the regression of the squared noise on
    the squared slope is the square of the jitter. Its uncertainty is the scatter over blocks.
    """
    if mains.rms_uv < LEAST_UV:
        return ClockNoise(0.0, 0.0)
    slope = _slope(samples, rate, mains) ** 2
    edge = round(EDGE_S * rate)
    size = (len(samples) - 2 * edge) // BLOCKS
    inner = slice(edge, edge + BLOCKS * size)
    noise = combed[inner].reshape(BLOCKS, size) ** 2
    slopes = slope[inner].reshape(BLOCKS, size)
    swings = slopes - slopes.mean(axis=1, keepdims=True)
    jitter = (swings * noise).sum(axis=1) / (swings**2).sum(axis=1)
    in_band = slope.mean() * width_hz / (rate / 2) / _left_of_it(len(samples), rate, mains)
    spread = float(np.std(jitter, ddof=1)) / math.sqrt(BLOCKS)
    return ClockNoise(float(jitter.mean() * in_band), float(spread * in_band))


def _left_of_it(count: int, rate: float, mains: Mains) -> float:
    """What taking out the mains, by its period, and what is slow leaves of white noise that comes
    twice in a period.
    """
    hz = np.abs(np.fft.fftfreq(count, 1 / rate))
    low, high = FROM_HZ
    gain = 1 - np.cos(2 * np.pi * hz / mains.frequency_hz)
    gain *= 0.5 - 0.5 * np.cos(np.pi * np.clip((hz - low) / (high - low), 0, 1))
    twice = round(2 * mains.frequency_hz * count / rate)
    return float(np.mean(gain * np.roll(gain, twice)))


def _slope(samples: np.ndarray, rate: float, mains: Mains) -> np.ndarray:
    """Slope of the hum at every sample, uV/s; lines that sampling has folded are left out."""
    count = len(samples)
    spectrum = np.fft.rfft(samples - samples.mean())
    hz = np.arange(len(spectrum)) * rate / count
    lines = [line for order, line, _ in mains.harmonics if order * mains.frequency_hz < rate / 2]
    near = np.zeros(len(hz), dtype=bool)
    for line in lines:
        near |= np.abs(hz - line) < REACH_HZ
    return np.fft.irfft(np.where(near, 2j * np.pi * hz * spectrum, 0), count)
