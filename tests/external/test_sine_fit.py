"""The sine fit and the mains against IEEE Std 1057 and the Cramer-Rao bounds (rows S1-S6 of the
table of standards).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import optimize

from readiness.signal.spectrum.mains import alias_hz, find_mains, fit_sines
from readiness.signal.spectrum.noise import floor, spectrum

T = np.arange(2000) / 1000
TONE = 3 * np.cos(2 * np.pi * 37.3 * T) + 4 * np.sin(2 * np.pi * 37.3 * T) + 0.5


def test_s1_three_parameter_fit():
    """IEEE Std 1057-2017: frequency known."""
    fit = fit_sines(TONE, 1000.0, 37.3, free=False)
    assert (fit.cosines[0], fit.sines[0], fit.offset) == pytest.approx((3, 4, 0.5), abs=1e-11)
    assert fit.amplitudes[0] == pytest.approx(5, abs=1e-11)


def test_s2_four_parameter_fit():
    """IEEE Std 1057-2017: started a tenth of a hertz off."""
    fit = fit_sines(TONE, 1000.0, 37.2, passes=10)
    assert fit.frequency_hz == pytest.approx(37.3, abs=1e-9)
    assert (fit.cosines[0], fit.sines[0], fit.offset) == pytest.approx((3, 4, 0.5), abs=1e-9)
    assert fit.residual_rms < 1e-12


def test_s2_agrees_with_scipy_least_squares_in_noise():
    rng = np.random.default_rng(1)
    noisy = TONE + rng.normal(0, 0.5, len(T))

    def residual(p):
        return (
            p[0] * np.cos(2 * np.pi * p[3] * T) + p[1] * np.sin(2 * np.pi * p[3] * T) + p[2] - noisy
        )

    theirs = optimize.least_squares(
        residual, [3, 4, 0.5, 37.25], xtol=1e-12, ftol=1e-12, gtol=1e-12
    ).x
    fit = fit_sines(noisy, 1000.0, 37.25, passes=12)
    assert (fit.cosines[0], fit.sines[0], fit.offset, fit.frequency_hz) == pytest.approx(
        tuple(theirs), abs=1e-6
    )


def test_s3_cramer_rao_bounds():
    """Andersson and Haendel 2006: A 100 uV, s 5 uV, fs 1000, N 10000: sd of A 0.0707 uV, sd of f
    3.898e-5 Hz.
    """
    rng = np.random.default_rng(2)
    t = np.arange(10_000) / 1000
    fits = [
        fit_sines(
            100 * np.cos(2 * np.pi * 50.02 * t + p) + rng.normal(0, 5, len(t)),
            1000.0,
            50.0,
            passes=5,
        )
        for p in rng.uniform(0, 6, 300)
    ]
    amplitudes = [fit.amplitudes[0] for fit in fits]
    frequencies = [fit.frequency_hz for fit in fits]
    assert np.std(amplitudes) == pytest.approx(0.0707107, rel=0.15)
    assert np.std(frequencies) == pytest.approx(3.89848e-5, rel=0.15)
    assert fits[0].amplitude_u == pytest.approx(0.0707107, rel=0.05)
    assert fits[0].frequency_u_hz == pytest.approx(3.89848e-5, rel=0.05)


def test_s4_sinad_of_an_ideal_converter():
    """IEEE Std 1241: 12 bits give 74.008 dB; the residual of the fit is the rounding noise."""
    t = np.arange(20_000) / 1000
    x = np.sin(2 * np.pi * 37.3137 * t)
    step = 2 / 2**12
    fit = fit_sines(np.rint(x / step) * step, 1000.0, 37.3, passes=6)
    sinad = 20 * math.log10(fit.amplitudes[0] / math.sqrt(2) / fit.residual_rms)
    assert sinad == pytest.approx(6.0206 * 12 + 1.7609, abs=0.1)


@pytest.mark.parametrize(("zs", "zin", "share"), [(100e3, 100e6, 0.000999), (100e3, 10e6, 0.00990)])
def test_s5_s6_loss_at_the_input(zs, zin, share):
    """Zs/(Zs+Zin): what the second post of the ground test turns of a common mode into signal."""
    assert zs / (zs + zin) == pytest.approx(share, rel=1e-3)


@pytest.mark.parametrize("rate", [256.0, 512.0, 1000.0, 2048.0, 4096.0])
@pytest.mark.parametrize("true_hz", [49.97, 50.2, 59.95, 60.1])
def test_mains_found_with_drift_of_its_frequency(rate, true_hz):
    rng = np.random.default_rng(int(rate + true_hz))
    t = np.arange(int(10 * rate)) / rate
    x = rng.normal(0, 1, len(t)) + sum(
        a * np.sin(2 * np.pi * k * true_hz * t + k) for k, a in ((1, 20), (3, 8), (5, 3))
    )
    mains = find_mains(x, rate, declared_hz=50.0)
    assert mains.present
    assert mains.nominal_hz == round(true_hz, -1)
    assert mains.frequency_hz == pytest.approx(true_hz, abs=0.01)


@pytest.mark.parametrize("rate", [256.0, 512.0, 1024.0])
def test_noise_floor_is_blind_to_mains_and_its_aliases(rate):
    rng = np.random.default_rng(int(rate))
    t = np.arange(int(10 * rate)) / rate
    orders = range(1, 12)
    top = 0.4 * rate
    truth = math.sqrt((top - 20) / (rate / 2))
    found = []
    for _ in range(20):
        hum = sum(40 / k * np.sin(2 * np.pi * k * 50.03 * t + rng.uniform(0, 6)) for k in orders)
        x = rng.normal(0, 1, len(t)) + hum
        found.append(floor(spectrum(x, rate, find_mains(x, rate).lines_hz), 20, top).rms_uv)
    assert np.mean(found) == pytest.approx(truth, rel=0.02)


def test_alias_folds_into_half_the_rate():
    assert alias_hz(150, 256) == 106
    assert alias_hz(250, 256) == 6
    assert alias_hz(350, 256) == 94
