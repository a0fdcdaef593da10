"""The filter before fewer samples: level, delay and noise bandwidth, beside SciPy and the known."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import freqz, upfirdn, welch

from readiness.signal.readers.decimation import HIGHEST_RATE_HZ, PASS_SHARE, Decimation

pytestmark = pytest.mark.any_database

RATES = (22_050.0, 44_100.0, 48_000.0, 96_000.0, 192_000.0)


@pytest.mark.parametrize("rate_hz", RATES)
def test_the_passband_is_flat_and_what_folds_back_is_gone(rate_hz):
    fewer = Decimation(rate_hz)
    assert fewer.rate_hz == rate_hz / fewer.factor <= HIGHEST_RATE_HZ
    hz, response = freqz(fewer.taps, worN=1 << 15, fs=rate_hz)
    level = np.abs(response)
    assert np.abs(level[hz <= PASS_SHARE * fewer.rate_hz] - 1.0).max() < 2e-5
    assert level[hz >= (1.0 - PASS_SHARE) * fewer.rate_hz].max() < 2e-5


@pytest.mark.parametrize("rate_hz", [44_100.0, 48_000.0])
def test_the_sums_are_those_of_scipy(rate_hz):
    fewer = Decimation(rate_hz)
    x = np.random.default_rng(1).normal(size=5000)
    half = len(fewer.taps) // 2
    padded = np.pad(x, half, mode="reflect", reflect_type="odd")
    whole = upfirdn(fewer.taps, padded, down=1)[2 * half : 2 * half + len(x)]
    np.testing.assert_allclose(fewer.apply(x), whole[:: fewer.factor], rtol=0, atol=1e-12)


@pytest.mark.parametrize("hz", [1.0, 50.0, 137.0, 450.0, 1800.0])
def test_a_sine_of_known_level_comes_out_with_its_level_and_without_delay(hz):
    fewer = Decimation(44_100.0)
    t = np.arange(2 * 44_100) / 44_100.0
    out = fewer.apply(7.0 + 3.0 * np.sin(2 * np.pi * hz * t + 0.4))
    at = np.arange(len(out)) / fewer.rate_hz
    inside = (at > 0.05) & (at < 1.95)
    expected = 7.0 + 3.0 * np.sin(2 * np.pi * hz * at + 0.4)
    assert np.abs(out - expected)[inside].max() < 3e-4


def test_a_sine_above_the_band_leaves_nothing():
    t = np.arange(2 * 48_000) / 48_000.0
    out = Decimation(48_000.0).apply(np.sin(2 * np.pi * 4_700.0 * t))
    assert np.abs(out[50:-50]).max() < 2e-5


def test_white_noise_keeps_its_density():
    fewer = Decimation(48_000.0)
    density = 45e-3  # microvolts per root hertz
    noise = np.random.default_rng(3).normal(0.0, density * np.sqrt(24_000.0), 40 * 48_000)
    hz, power = welch(fewer.apply(noise), fewer.rate_hz, nperseg=int(fewer.rate_hz))
    for low, high in ((20.0, 450.0), (100.0, 200.0), (1000.0, PASS_SHARE * fewer.rate_hz)):
        band = (hz >= low) & (hz < high)
        # 40 s of 100 Hz hold some 4,000 degrees of freedom: one standard deviation is 1.1 %.
        assert np.sqrt(power[band].mean()) == pytest.approx(density, rel=0.035)


def test_an_offset_makes_no_step_at_the_ends_and_a_hole_stays_one():
    fewer = Decimation(48_000.0)
    assert np.abs(fewer.apply(np.full(4800, 1650.0)) - 1650.0).max() < 1e-9
    x = np.zeros(48_000)
    x[24_000] = np.nan
    empty = np.flatnonzero(np.isnan(fewer.apply(x)))
    assert 2400 in empty and len(empty) <= len(fewer.taps) // fewer.factor + 1
    assert len(fewer.apply(np.zeros(0))) == 0 and list(fewer.apply(np.ones(1))) == [1.0]
