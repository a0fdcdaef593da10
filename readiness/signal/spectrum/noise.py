"""Noise floor of a capture: Hann frames, mains lines taken out, and how sure the figure is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from readiness.signal.statistics.decision import chi_square_factors
from readiness.signal.statistics.robust import pieces, read_only

from .line_removal import LineFits, around, stand_out, take_out, wavers, widen

BOLTZMANN = 1.380649e-23
"""J/K, exact (SI Brochure, 9th edition)."""
ROOM_K = 293.15
SOURCE_OHM = 2000.0
"""The least that can stand in front of an input pair: two protection resistors of a kilohm (common
practice).
"""
GUARD_HZ = 2.5
"""Half-width left out around a mains line: a one-second Hann frame spreads a line over +-2 Hz."""
FILL_HZ = 10.0
"""Left-out bins take the mean of the bins this near on both sides."""
CORRELATED_BINS = 35 / 18
"""Sum of squared correlations over the neighbouring bins of one Hann frame: 1 + 2 (4/9 + 1/36)."""
CORRELATED_FRAMES = 1 / 12
"""The same sum between two frames that overlap by half: mean of (w w')**2 over the square of mean
of w**2.
"""


@dataclass(frozen=True, eq=False)
class Spectrum:
    """Mean of the periodograms of a capture.

    ``hz`` and ``density`` (uV^2/Hz, one-sided, lines taken out), ``raw`` (lines still in),
    ``usable`` (bool: not a mains line) have shape (m,); ``frames`` (k, m) holds the single
    periodograms behind ``density``.
    """

    hz: np.ndarray
    density: np.ndarray
    raw: np.ndarray
    usable: np.ndarray
    frames: np.ndarray

    @property
    def step_hz(self) -> float:
        """Width of one bin."""
        return float(self.hz[1] - self.hz[0])

    @cached_property
    def smoothed(self) -> np.ndarray:
        """Running mean of the usable density over nine bins: its own scatter would be counted as
        shape.
        """
        kernel = np.ones(9)
        sums = np.convolve(np.where(self.usable, self.density, 0), kernel, "same")
        counts = np.convolve(self.usable.astype(float), kernel, "same")
        return sums / np.maximum(1, counts)


@dataclass(frozen=True)
class Floor:
    """RMS noise of a band in microvolts with its 95 % interval, degrees of freedom, and the share
    of bins left out.
    """

    low_hz: float
    high_hz: float
    rms_uv: float
    low_uv: float
    high_uv: float
    dof: float
    left_out: float


def thermal_uv(ohm: float, bandwidth_hz: float, kelvin: float = ROOM_K) -> float:
    """Thermal noise of a resistance in microvolts RMS: sqrt(4 k T R B) (Nyquist 1928)."""
    return 1e6 * math.sqrt(4 * BOLTZMANN * kelvin * ohm * bandwidth_hz)


def quantisation_uv(step_uv: float, bandwidth_hz: float, rate: float) -> float:
    """Share of a converter's rounding noise (step / sqrt(12), white up to half the rate) in a band,
    microvolts RMS.
    """
    return step_uv / math.sqrt(12) * math.sqrt(min(1.0, 2 * bandwidth_hz / rate))


def frame_spectra(samples: np.ndarray, rate: float) -> tuple[np.ndarray, np.ndarray, float]:
    """One-second Hann frames, half overlapped: their bins in Hz, complex spectra (k, m), and
    density per |X|^2.

    Raises
    ------
    ValueError
        When the samples do not fill one frame.
    """
    size = round(rate)
    if len(samples) < size:
        raise ValueError(f"{len(samples)} samples do not fill a frame of {size}")
    hz, window = _bins_and_window(size, rate)
    spectra = np.fft.rfft(pieces(samples - samples.mean(), size, size // 2) * window, axis=1)
    return hz, spectra, 2 / (rate * size * 3 / 8)


@lru_cache(maxsize=8)
def _bins_and_window(size: int, rate: float) -> tuple[np.ndarray, np.ndarray]:
    """Frequencies of a frame's bins in Hz, and its Hann window."""
    hz = np.arange(size // 2 + 1) * rate / size
    return read_only(hz), read_only(0.5 - 0.5 * np.cos(2 * np.pi * np.arange(size) / size))


def spectrum(
    samples: np.ndarray,
    rate: float,
    lines_hz: tuple[float, ...] = (),
    fits: LineFits | None = None,
) -> Spectrum:
    """Mean periodogram with mains lines fitted out of every frame and their bins marked as not
    usable.

    Parameters
    ----------
    samples : numpy.ndarray
        Microvolts, shape (n,), n >= rate.
    rate : float
        Samples per second.
    lines_hz : tuple of float
        Where mains harmonics (aliases too) appear.
    fits : LineFits or None
        Those of frames of one second, shared by all spectra of a capture.
    """
    hz, spectra, scale = frame_spectra(samples, rate)
    frames = _power(spectra, scale)
    raw = frames.mean(axis=0)
    size = round(rate)
    step = rate / size
    usable = np.ones(len(hz), dtype=bool)
    usable[0] = False
    lines = np.array(sorted(lines_hz))
    near = around(hz, lines)
    touched = take_out(spectra, lines[stand_out(raw, *near)] / step, size, fits)
    for part in touched:
        frames[:, part] = _power(spectra[:, part], scale)
    begins = np.searchsorted(hz, lines - GUARD_HZ * step, "left").tolist()
    ends = np.searchsorted(hz, lines + GUARD_HZ * step, "right").tolist()
    for begin, end in zip(begins, ends, strict=True):
        usable[begin:end] = False
    density = frames.mean(axis=0) if touched else raw
    for line in lines[wavers(usable, density, *near)].tolist():
        widen(usable, hz, density, line)
    return Spectrum(hz=hz, density=density, raw=raw, usable=usable, frames=frames)


def _power(spectra: np.ndarray, scale: float) -> np.ndarray:
    """Squared size of complex values, scaled: without the square root that ``abs`` takes first."""
    return scale * (spectra.real**2 + spectra.imag**2)


def floor(spectrum: Spectrum, low_hz: float, high_hz: float) -> Floor:
    """RMS noise between two frequencies, left-out bins filled from their neighbours.

    Notes
    -----
    The band power is a weighted sum of bins; its relative variance is ``(35/18 + (1 - 1/K)/6) / K``
    times ``sum (w P)^2 / (sum w P)^2`` (Welch 1967, the correlation of neighbouring bins and frames
    included), lowered to what the scatter of the single frames shows where that is more: bursts and
    drift make a figure less sure.

    Raises
    ------
    ValueError
        When every bin of the band is left out.
    """
    inside = (spectrum.hz >= low_hz) & (spectrum.hz <= high_hz)
    weights = fill_weights(spectrum, inside)
    total = float((weights * spectrum.density).sum())
    left_out = 1 - float(np.sum(inside & spectrum.usable)) / max(1, int(inside.sum()))
    if not total > 0:  # a flat line has no noise to be sure of
        return Floor(low_hz, high_hz, 0.0, 0.0, 0.0, 1.0, left_out)
    frames = len(spectrum.frames)
    smooth = weights * spectrum.smoothed
    spread = (CORRELATED_BINS + 2 * (1 - 1 / frames) * CORRELATED_FRAMES) / frames
    variance = spread * _concentration(smooth)
    variance *= max(1.0, unsteadiness(spectrum, weights))
    dof = 2 / variance
    low, high = chi_square_factors(dof)
    rms = math.sqrt(total * spectrum.step_hz)
    return Floor(low_hz, high_hz, rms, rms * math.sqrt(low), rms * math.sqrt(high), dof, left_out)


def band_rms(spectrum: Spectrum, low_hz: float, high_hz: float) -> float:
    """The ``rms_uv`` of ``floor`` alone, for a quick look that needs no interval; raises as that
    does.
    """
    weights = fill_weights(spectrum, (spectrum.hz >= low_hz) & (spectrum.hz <= high_hz))
    total = float((weights * spectrum.density).sum())
    return math.sqrt(total * spectrum.step_hz) if total > 0 else 0.0


def frame_power(spectrum: Spectrum, weights: np.ndarray) -> np.ndarray:
    """Band power of each frame, shape (k,), uV^2."""
    # Too small for threads, which ``@`` would start.
    power: np.ndarray = np.einsum("ij,j->i", spectrum.frames, weights)
    return power * spectrum.step_hz


def unsteadiness(spectrum: Spectrum, weights: np.ndarray) -> float:
    """Scatter of the frames' band power over what steady Gaussian noise gives, 1 or less for a
    steady trace.

    The ratio of a sample variance over K frames to its expectation is chi-square like with about
    0.8 K degrees of freedom (neighbouring frames share a tenth of their information); only what
    exceeds its 99.9 % point counts.
    """
    power = frame_power(spectrum, weights)
    smooth = weights * spectrum.smoothed
    expected = CORRELATED_BINS * _concentration(smooth)
    mean = float(np.mean(power))
    scatter = float(np.var(power, ddof=1)) / mean**2 if len(power) > 1 and mean > 0 else 0.0
    dof = max(1.0, 0.8 * (len(power) - 1))
    allowed = 1 + 3.1 * math.sqrt(2 / dof) + 3 / dof
    return scatter / expected if scatter > allowed * expected else 1.0


def _concentration(parts: np.ndarray) -> float:
    """Sum of squares over the square of the sum; of a constant trace, which has only noughts, as if
    all were equal.
    """
    total = float(parts.sum())
    return float(parts @ parts) / total**2 if total > 0 else 1 / max(1, len(parts))


def fill_weights(spectrum: Spectrum, inside: np.ndarray) -> np.ndarray:
    """Weight of each bin in a band's power: 1, plus its share of the left-out bins it stands in
    for.
    """
    weights = (inside & spectrum.usable).astype(float)
    if not weights.any():
        raise ValueError("every bin of the band is left out")
    edges = np.flatnonzero(inside)[[0, -1]]
    weights[edges] /= 2  # a bin on the edge of the band belongs to it by half
    near_by = weights > 0
    missing = spectrum.hz[inside & ~spectrum.usable]
    if not len(missing):
        return weights
    begin = np.searchsorted(spectrum.hz, missing - FILL_HZ, "left")
    end = np.searchsorted(spectrum.hz, missing + FILL_HZ, "right")
    before = np.concatenate(([0], np.cumsum(near_by)))
    count = before[end] - before[begin]
    alone = count == 0
    if alone.any():
        begin[alone], end[alone], count[alone] = 0, len(spectrum.hz), before[-1]
    # Each left-out bin gives its share to a run of bins: added where the run begins, taken off
    # where it ends.
    size = len(spectrum.hz) + 1
    shares = np.bincount(begin, 1 / count, size) - np.bincount(end, 1 / count, size)
    weights[near_by] += np.cumsum(shares)[:-1][near_by]
    return weights


def band_density(spectrum: Spectrum, low_hz: float, high_hz: float) -> float:
    """Mean density of the usable bins of a band, uV^2/Hz; NaN where there are none."""
    inside = slice(*spectrum.hz.searchsorted((low_hz, math.nextafter(high_hz, math.inf))))
    chosen = spectrum.density[inside][spectrum.usable[inside]]
    return float(chosen.mean()) if len(chosen) else math.nan
