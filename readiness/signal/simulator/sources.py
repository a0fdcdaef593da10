"""Sources of the simulator: noise of several colours, the mains, movement, muscle and heart. All
in microvolts.
"""

from __future__ import annotations

import numpy as np

from readiness.signal.simulator.parameters import Setup

BOLTZMANN = 1.380649e-23
CHARGE = 1.602176634e-19
PERIOD_POINTS = 32768


class Clock:
    """The fine time grid: ``t`` in seconds (negative before the capture), ``freq`` of its real
    FFT.
    """

    def __init__(self, rate_hz: float, oversample: int, before_s: float, after_s: float) -> None:
        self.rate_hz = rate_hz * oversample
        self.oversample = oversample
        lead_in = int(np.ceil(before_s * rate_hz)) * oversample
        self.size = _smooth_size(lead_in + int((after_s * rate_hz + 1) * oversample))
        self.start = lead_in
        self.t = (np.arange(self.size) - lead_in) / self.rate_hz
        self.freq = np.fft.rfftfreq(self.size, 1 / self.rate_hz)

    def index(self, time_s: float) -> int:
        """Index of the first grid point at or after ``time_s``, kept inside the grid."""
        return int(
            np.clip(np.ceil(np.clip(time_s, -1e3, 1e3) * self.rate_hz) + self.start, 0, self.size)
        )

    def shape(self, x: np.ndarray, gain: np.ndarray) -> np.ndarray:
        """``x`` through a filter of frequency response ``gain`` at ``freq``."""
        return np.fft.irfft(np.fft.rfft(x) * gain, self.size)

    def white(self, rng: np.random.Generator, density_nv: float) -> np.ndarray:
        """White noise of one-sided ``density_nv`` per root hertz, in uV: variance e^2 fs/2 (row
        N8).
        """
        return rng.standard_normal(self.size) * (density_nv * 1e-3 * np.sqrt(self.rate_hz / 2))

    def slow(self, rng: np.random.Generator, corner_hz: float) -> np.ndarray:
        """Noise of unit RMS that falls off with the fourth power of frequency above
        ``corner_hz``.
        """
        spectrum = np.zeros(len(self.freq), complex)
        used = np.searchsorted(self.freq, 12 * corner_hz)
        spectrum[1:used] = rng.standard_normal(used - 1) + 1j * rng.standard_normal(used - 1)
        spectrum[1:used] /= 1 + (self.freq[1:used] / corner_hz) ** 4
        x = np.fft.irfft(spectrum, self.size)
        return x / x.std()

    def during(self, start_s: float, end_s: float, edge_s: float = 0.2) -> np.ndarray:
        """One between ``start_s`` and ``end_s``, zero elsewhere, with raised-cosine edges of
        ``edge_s``.
        """
        x = np.zeros(self.size)
        inside = slice(self.index(start_s), self.index(end_s))
        t = self.t[inside]
        rise = np.minimum((t - start_s) / edge_s, 1)
        fall = np.minimum((end_s - t) / edge_s, 1)
        x[inside] = 0.25 * (1 - np.cos(np.pi * rise)) * (1 - np.cos(np.pi * fall))
        return x


def _smooth_size(least: int) -> int:
    """The smallest product of 2, 3 and 5 at or above ``least``, which the FFT likes."""
    best = 1 << (least - 1).bit_length()
    five = 1
    while five < best:
        three = five
        while three < best:
            size = three << max(0, (-(-least // three) - 1).bit_length())
            best = min(best, size)
            three *= 3
        five *= 5
    return best


def flicker(
    clock: Clock, rng: np.random.Generator, density_nv: float, corner_hz: float
) -> np.ndarray:
    """Amplifier noise of density e sqrt(1 + fc/f), in microvolts."""
    gain = np.ones(len(clock.freq))
    gain[1:] = np.sqrt(1 + corner_hz / clock.freq[1:])
    gain[0] = 0.0
    return clock.shape(clock.white(rng, density_nv), gain)


class MainsSource:
    """The mains of one room: frequency with offset and drift, slow sway of amplitude, harmonics by
    number.
    """

    def __init__(self, clock: Clock, setup: Setup, rng: np.random.Generator) -> None:
        self.hz = setup.mains_hz + setup.mains_offset_hz
        drift = 0.5 * setup.mains_drift_hz_s * clock.t**2
        place = (self.hz * clock.t + drift + rng.random()) % 1.0 * PERIOD_POINTS
        self._before = place.astype(np.int64)
        self._share = place - self._before
        self._sway = 1 + setup.mains_sway * clock.slow(rng, 0.3)
        self.number = np.arange(1, len(setup.harmonics) + 1)
        self.level = np.asarray(setup.harmonics)
        self._rng = rng

    def phases(self, like: np.ndarray | None = None, apart: float = np.pi) -> np.ndarray:
        """One phase factor per harmonic: free, or ``like`` other ones but up to ``apart`` radians
        off.
        """
        angle = self._rng.uniform(-apart, apart, len(self.level))
        return np.exp(1j * angle) * (1.0 if like is None else like)

    def wave(self, coefficients: np.ndarray) -> np.ndarray:
        """Sum over k of Re(c_k exp(i k phase)), shape of the clock, read from one finely tabled
        period.

        Straight lines between the points are off by (2 pi k / points)^2 / 8 of a harmonic: 1e-6 of
        the twelfth.
        """
        spectrum = np.zeros(PERIOD_POINTS // 2 + 1, complex)
        spectrum[1 : len(coefficients) + 1] = np.asarray(coefficients) * (PERIOD_POINTS / 2)
        period = np.fft.irfft(spectrum, PERIOD_POINTS)
        period = np.append(period, period[0])
        start = period[self._before]
        return (start + self._share * (period[self._before + 1] - start)) * self._sway

    def current(self, peak_na: float, phases: np.ndarray) -> np.ndarray:
        """Displacement current in nA per harmonic. It grows with the harmonic's number, as through
        any capacitance.
        """
        return peak_na * self.level * self.number * phases

    def impedance(self, mohm: float, pf: float) -> np.ndarray:
        """R parallel C at each harmonic, megohm, complex."""
        return mohm / (1 + 2j * np.pi * self.hz * self.number * mohm * pf * 1e-6)


def muscle(clock: Clock, rng: np.random.Generator, rms_uv: float) -> np.ndarray:
    """Interference pattern of a surface muscle: noise with the spectrum of Shwedyk, Balasubramanian
    and Scott (1977).

    |H|^2 = f^2 / ((f^2 + fl^2) (f^2 + fh^2)^2), fl = 60 Hz, fh = 120 Hz (formula and figures from
    memory), scaled to ``rms_uv`` in 20 to 450 Hz.
    """
    f = clock.freq
    power = f**2 / ((f**2 + 60.0**2) * (f**2 + 120.0**2) ** 2)
    inside = (f >= 20) & (f <= 450)
    share = power[inside].sum() / len(f)
    return clock.shape(rng.standard_normal(clock.size), np.sqrt(power / share)) * rms_uv


def heart(clock: Clock, rng: np.random.Generator, peak_uv: float) -> np.ndarray:
    """Heart beats between two wrists: P, QRS and T as Gaussian bumps at 60 to 90 beats a minute
    (from memory).
    """
    x = np.zeros(clock.size)
    beat = clock.t[0] + rng.uniform(0, 1)
    period = rng.uniform(0.67, 1.0)
    bumps = (
        (-0.17, 0.025, 0.12),
        (-0.025, 0.008, -0.1),
        (0.0, 0.011, 1.0),
        (0.028, 0.01, -0.2),
        (0.27, 0.05, 0.28),
    )
    while beat < clock.t[-1]:
        for offset, width, height in bumps:
            first, last = (
                clock.index(beat + offset - 4 * width),
                clock.index(beat + offset + 4 * width),
            )
            x[first:last] += height * np.exp(
                -0.5 * ((clock.t[first:last] - beat - offset) / width) ** 2
            )
        beat += period * rng.uniform(0.95, 1.05)
    return x * peak_uv


def popcorn(clock: Clock, rng: np.random.Generator, step_uv: float, count: int) -> np.ndarray:
    """Burst noise: a two-level random telegraph signal with about ``count`` changes in ten
    seconds.
    """
    changes = np.zeros(clock.size, dtype=int)
    changes[rng.integers(0, clock.size, max(2, round(count * clock.size / clock.rate_hz / 10)))] = 1
    return step_uv * (np.cumsum(changes) % 2)
