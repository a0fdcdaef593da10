"""Noise, spectra and intervals against published values (rows N1-N21 of the table of standards) and
SciPy.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import constants, signal, stats

from readiness.signal.leads.trace import robust_sigma
from readiness.signal.simulator.parameters import Setup, amplifier_gain
from readiness.signal.spectrum.noise import (
    BOLTZMANN,
    CORRELATED_BINS,
    CORRELATED_FRAMES,
    floor,
    quantisation_uv,
    spectrum,
    thermal_uv,
)
from readiness.signal.statistics.decision import chi_square_factors


def test_n1_boltzmann_is_exact():
    """SI Brochure, 9th edition, 2019."""
    assert constants.Boltzmann == BOLTZMANN == 1.380649e-23


@pytest.mark.parametrize(
    ("ohm", "kelvin", "bandwidth", "uv"),
    [
        (100e3, 300, 1e6, 40.704),  # N2; a public tutorial prints 40.69 with k = 1.38e-23
        (1e3, 300, 1, 4.0704e-3),
        (1e3, 293.15, 1, 4.0236e-3),
        (10e3, 300, 480, 0.28200),  # N3
        (10e3, 293.15, 430, 0.26385),
        (2e3, 298.15, 480, 0.12573),
        (100e3, 300, 480, 0.89177),
    ],
)
def test_n2_n3_thermal_noise(ohm, kelvin, bandwidth, uv):
    """Nyquist 1928."""
    assert thermal_uv(ohm, bandwidth, kelvin) == pytest.approx(uv, rel=1e-4)


def test_n4_available_power():
    """kT in one hertz at 290 K is -173.975 dBm: the thermal voltage squared over 4 R."""
    watts = (thermal_uv(50, 1, 290) * 1e-6) ** 2 / (4 * 50)
    assert 10 * math.log10(watts * 1e3) == pytest.approx(-173.975, abs=1e-3)


@pytest.mark.parametrize(("bits", "span_uv", "rms"), [(12, 5000, 0.352387), (16, 10000, 0.0440483)])
def test_n5_quantisation_noise(bits, span_uv, rms):
    """Bennett 1948; IEEE Std 1241: step over the square root of twelve, over the whole band."""
    step = span_uv / 2**bits
    assert quantisation_uv(step, 500, 1000) == pytest.approx(rms, rel=1e-5)
    assert quantisation_uv(step, 125, 1000) == pytest.approx(rms / 2, rel=1e-5)


def test_n5_quantisation_noise_of_real_rounding():
    rng = np.random.default_rng(3)
    x = rng.normal(0, 5.0, 20_000)
    error = np.rint(x / 1.220703) * 1.220703 - x
    assert np.std(error) == pytest.approx(0.352387, rel=0.02)


def test_n6_white_density_over_a_band():
    """50 nV/rtHz over 430 Hz is 1.03682 uV RMS; the measured floor of such noise is that within its
    interval.
    """
    rng = np.random.default_rng(4)
    rate = 2048.0
    x = rng.normal(0, 0.05 * math.sqrt(rate / 2), int(10 * rate))
    found = floor(spectrum(x, rate), 20, 450)
    assert math.sqrt(430) * 0.05 == pytest.approx(1.03682, abs=1e-5)
    assert found.low_uv < 1.03682 < found.high_uv


def test_n7_parseval_of_one_to_four():
    x = np.array([1.0, 2.0, 3.0, 4.0])
    assert np.fft.fft(x).tolist() == [10, -2 + 2j, -2, -2 - 2j]
    assert np.sum(np.abs(np.fft.fft(x)) ** 2) / 4 == pytest.approx(30)


def test_n8_density_level_and_scipy():
    """One-sided density 2 var / fs; 20-450 Hz of unit noise at 1 kHz is 0.927362; same figure as
    SciPy's.
    """
    rng = np.random.default_rng(5)
    x = rng.normal(size=10_000)
    ours = spectrum(x, 1000.0)
    _hz, theirs = signal.welch(x - x.mean(), 1000.0, "hann", 1000, 500, detrend=False)
    assert np.allclose(ours.density[1:-1], theirs[1:-1], rtol=1e-9)
    assert math.sqrt(0.002 * 430) == pytest.approx(0.927362, abs=1e-6)
    assert floor(ours, 20, 450).rms_uv == pytest.approx(0.927362, rel=0.03)


def test_n9_hann_constants_behind_the_dof():
    """Harris 1978; Heinzel 2002: ENBW 1.5, overlap correlation 1/6, and the sums that the band's
    variance uses.
    """
    n = 4096
    w = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(n) / n)
    assert n * np.sum(w**2) / np.sum(w) ** 2 == pytest.approx(1.5, abs=1e-9)
    assert np.sum(w[n // 2 :] * w[: n // 2]) / np.sum(w**2) == pytest.approx(1 / 6, abs=1e-6)
    assert np.sum(w) / n == pytest.approx(0.5)
    assert n * np.sum(w**4) / np.sum(w**2) ** 2 == pytest.approx(CORRELATED_BINS, abs=1e-6)
    half = (w[n // 2 :] * w[: n // 2]) ** 2
    assert n * np.sum(half) / np.sum(w**2) ** 2 == pytest.approx(CORRELATED_FRAMES, abs=1e-6)


def test_n11_a_tone_splits_into_three_bins():
    """A bin-centred sine of unit mean square: two thirds in its bin, one sixth in each
    neighbour.
    """
    t = np.arange(10_000) / 1000
    found = spectrum(math.sqrt(2) * np.sin(2 * np.pi * 50 * t), 1000.0)
    assert found.raw[49:52] == pytest.approx([1 / 6, 2 / 3, 1 / 6], abs=1e-9)


@pytest.mark.parametrize(
    ("dof", "low", "high"),
    [(36.1, 0.6617, 1.6859), (72.1, 0.7397, 1.4274), (73.994595, 0.7424, 1.4203)],
)
def test_n13_interval_of_a_spectral_estimate(dof, low, high):
    assert chi_square_factors(dof) == pytest.approx((low, high), abs=1e-4)


def test_n14_interval_of_a_standard_deviation():
    """NIST/SEMATECH e-Handbook 1.3.5.8, gear diameters: published 0.00551 to 0.00729."""
    low, high = chi_square_factors(99)
    assert 0.0062789 * math.sqrt(low) == pytest.approx(0.00551292, abs=1e-8)
    assert 0.0062789 * math.sqrt(high) == pytest.approx(0.00729404, abs=1e-8)


@pytest.mark.parametrize(
    ("n", "low", "high"),
    [
        (2, 0.4461, 31.9102),
        (3, 0.5207, 6.2847),
        (5, 0.5991, 2.8736),
        (10, 0.6878, 1.8256),
        (20, 0.7605, 1.4606),
        (30, 0.7964, 1.3443),
        (50, 0.8353, 1.2461),
        (100, 0.8780, 1.1617),
        (1000, 0.9580, 1.0459),
    ],
)
def test_n15_factors_on_a_standard_deviation(n, low, high):
    """Table of the same manual."""
    assert [math.sqrt(f) for f in chi_square_factors(n - 1)] == pytest.approx([low, high], abs=1e-4)


def test_n16_test_of_a_standard_deviation():
    """NIST/SEMATECH e-Handbook 1.3.5.8: the statistic 0.3903 lies far below the 2.5 % point
    73.361.
    """
    statistic = 99 * (0.0062789 / 0.1) ** 2
    assert statistic == pytest.approx(0.3903, abs=1e-4)
    assert 99 / chi_square_factors(99)[1] == pytest.approx(73.361, abs=1e-3)


def test_n17_efficiency_beside_the_bandwidth_time_product():
    """Bendat and Piersol: 2 B T degrees of freedom at best; half-overlapped Hann frames keep nine
    tenths of them.
    """
    rng = np.random.default_rng(6)
    dof = floor(spectrum(rng.normal(size=20_480), 2048.0), 20, 450).dof
    assert 0.85 * 8600 < dof < 0.95 * 8600
    assert math.sqrt(8600 / stats.chi2.ppf(0.05, 8600)) == pytest.approx(1.012714, abs=1e-6)


def test_n18_order_statistics():
    """Expected peak to peak of 10,000 normal samples is 7.7032 sigma."""
    rng = np.random.default_rng(7)
    spans = np.ptp(rng.normal(size=(400, 10_000)), axis=1)
    assert spans.mean() == pytest.approx(7.7032, abs=0.08)


def test_n19_mad_to_sigma():
    """MAD to sigma of Gaussian noise: 1.482602."""
    assert 1 / stats.norm.ppf(0.75) == pytest.approx(1.482602, abs=1e-6)
    rng = np.random.default_rng(8)
    found = [robust_sigma(rng.normal(0, 3.0, 20_000)) for _ in range(50)]
    assert np.mean(found) == pytest.approx(3.0, rel=0.01)


def test_interval_covers_the_truth_in_94_to_96_percent():
    """Monte Carlo over 4,000 captures of white noise; the binomial error of that count is 0.35
    %.
    """
    rng = np.random.default_rng(9)
    rate, truth = 512.0, math.sqrt(2 / 512 * 180)
    inside = 0
    for _ in range(4000):
        found = floor(spectrum(rng.normal(size=5120), rate), 20, 200)
        inside += found.low_uv <= truth <= found.high_uv
    assert 0.94 <= inside / 4000 <= 0.96


# Row N20: Butterworth high-pass of order n, gain -10 log10(1 + (fc/f)^(2n)) dB; order 2, fc 20 Hz.
# Butterworth, S., "On the theory of filter amplifiers", Experimental Wireless 7 (1930) 536-541
# (source from memory).
@pytest.mark.parametrize(
    ("hz", "db"), [(5.0, -24.0993), (10.0, -12.3045), (20.0, -3.0103), (40.0, -0.2633)]
)
def test_n20_high_pass_of_the_bench_model_is_a_butterworth_of_order_two(
    hz: float, db: float
) -> None:
    setup = Setup(high_pass_hz=20.0, low_pass_hz=1e9)
    assert 20 * np.log10(abs(amplifier_gain(setup, np.array([hz]))[0])) == pytest.approx(
        db, abs=5e-5
    )
    b, a = signal.butter(2, 2 * np.pi * 20.0, "highpass", analog=True)
    _, reference = signal.freqs(b, a, [2 * np.pi * hz])
    assert abs(amplifier_gain(setup, np.array([hz]))[0]) == pytest.approx(
        abs(reference[0]), rel=1e-9
    )


# Row N21: equivalent noise bandwidth of an n-pole Butterworth low-pass, (pi/2n)/sin(pi/2n) times
# fc.
@pytest.mark.parametrize(
    ("poles", "times"), [(1, 1.570796), (2, 1.110721), (3, 1.047198), (4, 1.026172)]
)
def test_n21_noise_bandwidth_of_the_bench_models_low_pass(poles: int, times: float) -> None:
    setup = Setup(high_pass_hz=0.0, low_pass_hz=100.0, low_pass_order=poles)
    # Over the angle whose tangent is f/fc the range is finite; df = fc dangle / cos^2.
    angle = np.linspace(0.0, np.pi / 2 - 1e-7, 20_001)
    power = np.abs(amplifier_gain(setup, 100.0 * np.tan(angle))) ** 2
    bandwidth = np.trapezoid(power * 100.0 / np.cos(angle) ** 2, angle)
    assert bandwidth / 100.0 == pytest.approx(times, rel=1e-5)
