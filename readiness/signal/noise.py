"""Noise floor of a capture: Hann frames, mains lines taken out, and how sure the figure is."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from .decision import chi_square_factors

BOLTZMANN = 1.380649e-23
"""J/K, exact (SI Brochure, 9th edition)."""
ROOM_K = 293.15
SOURCE_OHM = 2000.0
"""The least that can stand in front of an input pair: two protection resistors of a kilohm (common practice)."""
GUARD_HZ = 2.5
"""Half-width left out around a mains line: a one-second Hann frame spreads a line over +-2 Hz."""
FILL_HZ = 10.0
"""Left-out bins take the mean of the bins this near on both sides."""
CORRELATED_BINS = 35 / 18
"""Sum of squared correlations over the neighbouring bins of one Hann frame: 1 + 2 (4/9 + 1/36)."""
CORRELATED_FRAMES = 1 / 12
"""The same sum between two frames that overlap by half: mean of (w w')**2 over the square of mean of w**2."""


@dataclass(frozen=True, eq=False)
class Spectrum:
    """Mean of the periodograms of a capture.

    ``hz`` and ``density`` (uV^2/Hz, one-sided, lines taken out), ``raw`` (lines still in), ``usable`` (bool: not a
    mains line) have shape (m,); ``frames`` (k, m) holds the single periodograms behind ``density``.
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


@dataclass(frozen=True)
class Floor:
    """RMS noise of a band in microvolts with its 95 % interval, degrees of freedom, and the share of bins left out."""

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
    """Share of a converter's rounding noise (step / sqrt(12), white up to half the rate) in a band, microvolts RMS."""
    return step_uv / math.sqrt(12) * math.sqrt(min(1.0, 2 * bandwidth_hz / rate))


def welch_dof(frames: int) -> float:
    """Equivalent degrees of freedom of one bin: ``frames`` Hann frames overlapped by half (Welch 1967)."""
    return 36 * frames**2 / (19 * frames - 1)


def frame_spectra(samples: np.ndarray, rate: float) -> tuple[np.ndarray, np.ndarray, float]:
    """One-second Hann frames, half overlapped: their bins in Hz, complex spectra (k, m), and density per |X|^2.

    Raises
    ------
    ValueError
        When the samples do not fill one frame.
    """
    size = round(rate)
    if len(samples) < size:
        raise ValueError(f"{len(samples)} samples do not fill a frame of {size}")
    window = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(size) / size)
    frames = np.lib.stride_tricks.sliding_window_view(samples, size)[:: size // 2]
    spectra = np.fft.rfft((frames - samples.mean()) * window, axis=1)
    return np.arange(spectra.shape[1]) * rate / size, spectra, 2 / (rate * size * 3 / 8)


def spectrum(samples: np.ndarray, rate: float, lines_hz: tuple[float, ...] = ()) -> Spectrum:
    """Mean periodogram with mains lines fitted out of every frame and their bins marked as not usable.

    Parameters
    ----------
    samples : numpy.ndarray
        Microvolts, shape (n,), n >= rate.
    rate : float
        Samples per second.
    lines_hz : tuple of float
        Where mains harmonics (aliases too) appear.
    """
    hz, spectra, scale = frame_spectra(samples, rate)
    raw = scale * np.mean(np.abs(spectra) ** 2, axis=0)
    size = round(rate)
    step = rate / size
    usable = np.ones(len(hz), dtype=bool)
    usable[0] = False
    lines = np.array(sorted(lines_hz))
    for line in lines[_stand_out(raw, hz, lines)]:
        _take_out(spectra, line / step, size)
    for line in lines.tolist():
        usable[
            np.searchsorted(hz, line - GUARD_HZ * step, "left") : np.searchsorted(hz, line + GUARD_HZ * step, "right")
        ] = False
    frames = scale * np.abs(spectra) ** 2
    density = frames.mean(axis=0)
    for line in lines[_wavers(usable, hz, density, lines)].tolist():
        _widen(usable, hz, density, line)
    return Spectrum(hz=hz, density=density, raw=raw, usable=usable, frames=frames)


def floor(found: Spectrum, low_hz: float, high_hz: float) -> Floor:
    """RMS noise between two frequencies, left-out bins filled from their neighbours.

    Notes
    -----
    The band power is a weighted sum of bins; its relative variance is ``(35/18 + (1 - 1/K)/6) / K`` times
    ``sum (w P)^2 / (sum w P)^2`` (Welch 1967, the correlation of neighbouring bins and frames included), lowered to
    what the scatter of the single frames shows where that is more: bursts and drift make a figure less sure.

    Raises
    ------
    ValueError
        When every bin of the band is left out.
    """
    inside = (found.hz >= low_hz) & (found.hz <= high_hz)
    weights = fill_weights(found, inside)
    parts = weights * found.density
    total = float(parts.sum())
    left_out = 1 - float(np.sum(inside & found.usable)) / max(1, int(inside.sum()))
    if not total > 0:
        return Floor(low_hz, high_hz, 0.0, 0.0, 0.0, 1.0, left_out)  # a flat line has no noise to be sure of
    frames = len(found.frames)
    smooth = weights * _smoothed(found.density, found.usable)
    spread = (CORRELATED_BINS + 2 * (1 - 1 / frames) * CORRELATED_FRAMES) / frames
    variance = spread * _concentration(smooth)
    variance *= max(1.0, unsteadiness(found, weights))
    dof = 2 / variance
    low, high = chi_square_factors(dof)
    rms = math.sqrt(total * found.step_hz)
    return Floor(low_hz, high_hz, rms, rms * math.sqrt(low), rms * math.sqrt(high), dof, left_out)


def frame_power(found: Spectrum, weights: np.ndarray) -> np.ndarray:
    """Band power of each frame, shape (k,), uV^2."""
    return found.frames @ weights * found.step_hz


def unsteadiness(found: Spectrum, weights: np.ndarray) -> float:
    """Scatter of the frames' band power over what steady Gaussian noise gives, 1 or less for a steady trace.

    The ratio of a sample variance over K frames to its expectation is chi-square like with about 0.8 K degrees of
    freedom (neighbouring frames share a tenth of their information); only what exceeds its 99.9 % point counts.
    """
    power = frame_power(found, weights)
    smooth = weights * _smoothed(found.density, found.usable)
    expected = CORRELATED_BINS * _concentration(smooth)
    mean = float(np.mean(power))
    seen = float(np.var(power, ddof=1)) / mean**2 if len(power) > 1 and mean > 0 else 0.0
    dof = max(1.0, 0.8 * (len(power) - 1))
    allowed = 1 + 3.1 * math.sqrt(2 / dof) + 3 / dof
    return seen / expected if seen > allowed * expected else 1.0


def _concentration(parts: np.ndarray) -> float:
    """Sum of squares over the square of the sum; of a constant trace, which has only noughts, as if all were equal."""
    total = float(parts.sum())
    return float(parts @ parts) / total**2 if total > 0 else 1 / max(1, len(parts))


def fill_weights(found: Spectrum, inside: np.ndarray) -> np.ndarray:
    """Weight of each bin in a band's power: 1, plus its share of the left-out bins it stands in for."""
    weights = (inside & found.usable).astype(float)
    if not weights.any():
        raise ValueError("every bin of the band is left out")
    edges = np.flatnonzero(inside)[[0, -1]]
    weights[edges] /= 2  # a bin on the edge of the band belongs to it by half
    near_by = weights > 0
    for missing in np.flatnonzero(inside & ~found.usable):
        near = near_by & (np.abs(found.hz - found.hz[missing]) <= FILL_HZ)
        if not near.any():
            near = near_by
        weights[near] += 1 / np.count_nonzero(near)
    return weights


def band_density(found: Spectrum, low_hz: float, high_hz: float) -> float:
    """Mean density of the usable bins of a band, uV^2/Hz; NaN where there are none."""
    chosen = (found.hz >= low_hz) & (found.hz <= high_hz) & found.usable
    return float(found.density[chosen].mean()) if chosen.any() else math.nan


def _smoothed(density: np.ndarray, usable: np.ndarray) -> np.ndarray:
    """Running mean over nine bins: the raw density's own scatter would be counted as shape."""
    kernel = np.ones(9)
    return np.convolve(np.where(usable, density, 0), kernel, "same") / np.maximum(
        1, np.convolve(usable.astype(float), kernel, "same")
    )


def _around(hz: np.ndarray, lines: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Bins within 19 Hz of each line (lines, bins), and their distance in Hz, infinite beyond the ends."""
    reach = int(19 / (hz[1] - hz[0])) + 1
    bins = np.rint(lines / (hz[1] - hz[0])).astype(int)[:, None] + np.arange(-reach, reach + 1)
    inside = np.clip(bins, 0, len(hz) - 1)
    return inside, np.where(bins == inside, np.abs(hz[inside] - lines[:, None]), np.inf)


def _median_where(values: np.ndarray, chosen: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Median of the chosen values of each row, infinite for none, and how many were chosen."""
    count = chosen.sum(axis=1)
    ordered = np.sort(np.where(chosen, values, np.inf), axis=1)
    row = np.arange(len(values))
    return (ordered[row, np.maximum(count - 1, 0) // 2] + ordered[row, count // 2]) / 2, count


def _stand_out(raw: np.ndarray, hz: np.ndarray, lines: np.ndarray) -> np.ndarray:
    """Which lines are strong enough to leak beyond their guard; fitting a weak one would add noise beside it."""
    bins, distance = _around(hz, lines)
    level, count = _median_where(raw[bins], (distance > 9) & (distance < 18))
    near = np.where(distance < 2, raw[bins], -np.inf).max(axis=1)
    return (count > 0) & (near > 20 * level)


def _wavers(usable: np.ndarray, hz: np.ndarray, density: np.ndarray, lines: np.ndarray) -> np.ndarray:
    """Which lines may need a wider guard: the bins next to it stand above those farther out."""
    bins, distance = _around(hz, lines)
    kept, values = usable[bins], density[bins]
    level, count = _median_where(values, (distance > 9) & (distance < 18) & kept)
    ring = (distance > 2.5) & (distance <= 4.5) & kept
    mean = np.where(ring, values, 0).sum(axis=1) / np.maximum(ring.sum(axis=1), 1)
    return (count >= 6) & (mean >= 1.8 * level)


def _take_out(spectra: np.ndarray, centre: float, size: int) -> None:
    """Subtract a line from every frame: amplitude, slope and curvature over the frame are free, so drift goes too."""
    first = max(1, int(centre) - 3)
    near = slice(first, min(spectra.shape[1], int(centre) + 5))
    wide = slice(max(1, first - 40), min(spectra.shape[1], first + 48))
    if near.stop - near.start < 5:
        return
    shape = _line_shape(wide.start - centre, wide.stop - wide.start, size)
    close = shape[near.start - wide.start : near.stop - wide.start]
    found = np.linalg.pinv(close) @ spectra[:, near].T
    spectra[:, wide] -= (shape @ found).T


def _line_shape(start: float, count: int, size: int) -> np.ndarray:
    """Spectrum of a Hann-windowed line, and of the same with a slope and a curvature: (count, 3).

    The rows stand at distances ``start``, ``start + 1``, ... bins from the line.
    """
    reach = 0.05
    # The Hann kernel is three Dirichlet kernels a bin apart, so one longer row of them serves all rows.
    v = start + np.arange(-1, count + 1) + np.array([[0.0], [reach], [-reach]])
    plain = _dirichlet(v, size)
    middle, above, below = 0.5 * plain[:, 1:-1] - 0.25 * (plain[:, :-2] + plain[:, 2:])
    return np.stack([middle, (above - below) / (2 * reach), (above - 2 * middle + below) / reach**2], axis=1)


def _dirichlet(v: np.ndarray, size: int) -> np.ndarray:
    v = np.where(np.abs(v) < 1e-9, 1e-9, v)
    return np.exp(-1j * np.pi * v * (size - 1) / size) * np.sin(np.pi * v) / np.sin(np.pi * v / size)


def _widen(usable: np.ndarray, hz: np.ndarray, density: np.ndarray, line: float) -> None:
    """Leave out more around a line whose strength wavers: while the next two bins stand above those farther out."""
    far = (np.abs(hz - line) > 9) & (np.abs(hz - line) < 18) & usable
    if np.count_nonzero(far) < 6:
        return
    level = float(np.median(density[far]))
    for reach in (3.5, 5.5, 7.5):
        ring = (np.abs(hz - line) > reach - 1) & (np.abs(hz - line) <= reach + 1) & usable
        # Four bins of 36 degrees of freedom each scatter by about 15 %: 1.8 is five times that above the level.
        if not ring.any() or float(density[ring].mean()) < 1.8 * level:
            return
        usable[ring] = False
