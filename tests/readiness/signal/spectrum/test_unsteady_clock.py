"""Noise that comes with the slope of hum is told from noise that is always there."""

import numpy as np
import pytest

from readiness.signal.leads.trace import trace_of
from readiness.signal.spectrum.mains import find_mains
from readiness.signal.spectrum.noise import floor, spectrum
from readiness.signal.spectrum.unsteady_clock import ClockNoise, clock_noise

RATE = 1024.0
TURN = 2 * np.pi * 50.03
T = np.arange(10240) / RATE
BAND_HZ = (20.0, 409.6)
WIDTH_HZ = BAND_HZ[1] - BAND_HZ[0]


def found(jitter_s: float, hum_uv: float = 100.0) -> tuple[np.ndarray, ClockNoise]:
    rng = np.random.default_rng(5)
    peak = np.sqrt(2) * hum_uv
    late = rng.normal(0, jitter_s, len(T)) if jitter_s else 0.0
    x = rng.normal(0, 0.6, len(T)) + peak * np.sin(TURN * T) + late * TURN * peak * np.cos(TURN * T)
    mains = find_mains(x, RATE)
    combed = trace_of(x, RATE, mains).band
    return x, clock_noise(x, combed, RATE, mains, WIDTH_HZ)


@pytest.mark.parametrize("jitter_s", [2e-5, 5e-5])
def test_its_power_is_that_of_the_jitter_times_the_slope(jitter_s):
    _, clock = found(jitter_s)
    true = (jitter_s * TURN * 100) ** 2 * WIDTH_HZ / (RATE / 2)
    assert abs(clock.power - true) < 0.1 * true + 2 * clock.u


def test_a_steady_clock_adds_nothing_and_little_hum_says_nothing():
    _, clock = found(0.0)
    assert abs(clock.power) < 3 * clock.u
    _, in_quiet = found(5e-5, hum_uv=5.0)
    assert in_quiet == ClockNoise(0.0, 0.0)


def test_the_interval_reaches_down_to_the_noise_that_is_always_there():
    x, clock = found(5e-5)
    full = floor(spectrum(x, RATE, find_mains(x, RATE).lines_hz), *BAND_HZ)
    true = 0.6 * np.sqrt(WIDTH_HZ / (RATE / 2))
    assert clock.least_uv(full) < true < full.low_uv
    assert ClockNoise(0.1, 0.2).least_uv(full) == full.low_uv
