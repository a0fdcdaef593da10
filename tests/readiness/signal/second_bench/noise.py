"""Noise of the amplifier with its exact spectrum: white, and poles and zeros in turn for its 1/f
part.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy.signal import bilinear_zpk, butter, freqz, iirnotch, sosfilt, sosfreqz, tf2sos, zpk2sos

from .drawing import BAND_HZ, NOISE_LIMIT_UV, BareNoise, FrontEnd

SPECTRUM_STEP_HZ = 0.5
LOWEST_POLE_HZ = 0.02


@lru_cache(maxsize=32)
def flicker_sections(grid_hz: float) -> np.ndarray:
    """A filter that falls by 10 dB a decade from 0.02 Hz on: two poles and two zeros a decade."""
    count = int(np.log10(0.3 * grid_hz / LOWEST_POLE_HZ) * 2)
    poles = -2 * np.pi * LOWEST_POLE_HZ * 10 ** (np.arange(count) / 2)
    zeros = poles * 10**0.25
    return zpk2sos(*bilinear_zpk(zeros, poles, 1.0, grid_hz))


def high_pass_sections(front: FrontEnd) -> np.ndarray | None:
    """The amplifier's high-pass, ``None`` where it goes down to 0 Hz."""
    if not front.high_pass_hz:
        return None
    return butter(
        front.high_pass_order, front.high_pass_hz, "highpass", fs=front.grid_hz, output="sos"
    )


def late_sections(front: FrontEnd, mains_hz: float) -> np.ndarray:
    """Low-pass, and the notch where there is one."""
    sections = butter(
        front.low_pass_order, front.low_pass_hz, "lowpass", fs=front.grid_hz, output="sos"
    )
    if front.notch_q:
        notch = tf2sos(*iirnotch(round(mains_hz / 10) * 10, front.notch_q, fs=front.grid_hz))
        sections = np.vstack((sections, notch))
    return sections


def averaging_kernel(front: FrontEnd) -> np.ndarray:
    """A converter that averages over its interval three times; else one that does not."""
    if not front.averages or front.oversampling == 1:
        return np.ones(1)
    box = np.ones(front.oversampling) / front.oversampling
    return np.convolve(np.convolve(box, box), box)


def density_of_one(front: FrontEnd, bare: BareNoise, mains_hz: float) -> tuple:
    """Frequencies up to half the rate, and the density there (per hertz) of noise whose white
    part has a density of 1, folded as the converter folds it.
    """
    grid = np.arange(0, front.grid_hz / 2, SPECTRUM_STEP_HZ) + SPECTRUM_STEP_HZ / 2
    shape = np.abs(sosfreqz(late_sections(front, mains_hz), grid, fs=front.grid_hz)[1]) ** 2
    shape *= np.abs(freqz(averaging_kernel(front), worN=grid, fs=front.grid_hz)[1]) ** 2
    high_pass = high_pass_sections(front)
    if high_pass is not None and not front.couples_first:
        shape *= np.abs(sosfreqz(high_pass, grid, fs=front.grid_hz)[1]) ** 2
    shape *= 1 + flicker_density(front, bare, grid)
    nyquist = front.rate_hz / 2
    folded = np.abs((grid + nyquist) % front.rate_hz - nyquist)
    place = np.minimum((folded / SPECTRUM_STEP_HZ).astype(int), int(nyquist / SPECTRUM_STEP_HZ) - 1)
    density = np.bincount(place, shape)
    return (np.arange(len(density)) + 0.5) * SPECTRUM_STEP_HZ, density


def flicker_density(front: FrontEnd, bare: BareNoise, at_hz: np.ndarray) -> np.ndarray:
    """Density of the 1/f part beside a white one of 1: as large at its corner."""
    places = np.append(at_hz, bare.corner_hz)
    gain = np.abs(sosfreqz(flicker_sections(front.grid_hz), places, fs=front.grid_hz)[1]) ** 2
    return gain[:-1] / gain[-1]


def judged_band(rate_hz: float) -> tuple[float, float]:
    """The band a noise floor belongs to."""
    return BAND_HZ[0], min(BAND_HZ[1], 0.4 * rate_hz)


def noise_levels(front: FrontEnd, bare: BareNoise, mains_hz: float) -> tuple[float, float]:
    """White density (uV^2/Hz) before the filters that gives ``times_limit``, and the RMS in the
    band.
    """
    at_hz, density = density_of_one(front, bare, mains_hz)
    low, high = judged_band(front.rate_hz)
    inside = density[(at_hz > low) & (at_hz < high)].sum() * SPECTRUM_STEP_HZ
    wanted = bare.times_limit * NOISE_LIMIT_UV * np.sqrt((high - low) / (BAND_HZ[1] - BAND_HZ[0]))
    return float(wanted**2 / inside), float(wanted)


def noise_trace(
    front: FrontEnd, bare: BareNoise, white: float, length: int, rng: np.random.Generator
) -> np.ndarray:
    """Noise at the input, on the grid."""
    scale = np.sqrt(white * front.grid_hz / 2)
    sections = flicker_sections(front.grid_hz)
    gain = np.abs(sosfreqz(sections, [bare.corner_hz], fs=front.grid_hz)[1][0])
    slow = sosfilt(sections, rng.standard_normal(length)) / gain
    return scale * (rng.standard_normal(length) + slow)
