"""Uncertainty and decision against published worked examples (rows U1-U14 of the table of
standards).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate, stats

from readiness.signal.statistics.decision import (
    chi_square_factors,
    combined_u,
    conforms_lower_meter,
    conforms_noise,
    rectangular_u,
)
from readiness.signal.statistics.normal import normal_below

NO_RECTANGLE = 1e-4
"""Half-width over ``u`` of a rectangular error that is next to none: a normal one is left."""


def at_least(value: float, u: float, limit: float) -> float:
    """Probability of a true value at or above a limit, with a normal error."""
    return conforms_lower_meter(value, NO_RECTANGLE * u, u, limit)


def at_most(value: float, u: float, limit: float) -> float:
    """Probability of a true value at or below a limit, with a normal error."""
    return at_least(-value, u, -limit)


def test_u1_end_gauge_combined_uncertainty():
    """JCGM 100:2008, Annex H.1: four contributions in nanometres, published 32 nm."""
    length = 50.000623e6
    parts = (25.0, 9.7, 0.1 * length * 0.58e-6, length * 11.5e-6 * 0.029)
    assert parts[2] == pytest.approx(2.90, abs=0.01)
    assert parts[3] == pytest.approx(16.68, abs=0.01)
    assert combined_u(parts) == pytest.approx(31.7106, abs=1e-3)


def test_u2_expanded_uncertainty_uses_the_truncated_dof():
    """JCGM 100:2008, H.1: t(0.975; 16) = 2.1199 (one public reproduction prints 2.13, which belongs
    to 15).
    """
    assert stats.t.ppf(0.975, 16) == pytest.approx(2.119905, abs=1e-6)
    assert stats.t.ppf(0.995, 16) * 32 == pytest.approx(93.5, abs=0.1)


def test_u3_comparator_sub_budget():
    """JCGM 100:2008, H.1.3.2: 5.8, 3.9 and 6.7 nm give 9.7 nm."""
    assert combined_u((5.8, 3.9, 6.7)) == pytest.approx(9.682, abs=1e-3)


@pytest.mark.parametrize(
    ("n", "percent"), [(2, 76), (3, 52), (4, 42), (5, 36), (10, 24), (20, 16), (30, 13), (50, 10)]
)
def test_u4_uncertainty_of_a_standard_deviation(n, percent):
    """JCGM 100:2008, Table E.1 (from memory, recomputed): also read off the chi-square factors'
    distribution.
    """
    c4 = math.sqrt(2 / (n - 1)) * math.exp(math.lgamma(n / 2) - math.lgamma((n - 1) / 2))
    assert round(100 * math.sqrt(1 - c4**2) / c4) == percent
    low, high = chi_square_factors(n - 1)
    assert low < 1 < high
    assert low == pytest.approx((n - 1) / stats.chi2.ppf(0.975, n - 1))
    assert high == pytest.approx((n - 1) / stats.chi2.ppf(0.025, n - 1))


def test_u5_rectangular_uncertainty():
    """JCGM 100:2008, 4.3.7."""
    assert rectangular_u(1.0) == pytest.approx(0.57735, abs=1e-5)


@pytest.mark.parametrize(
    ("p", "z"), [(0.80, 0.842), (0.90, 1.282), (0.95, 1.645), (0.99, 2.326), (0.999, 3.090)]
)
def test_u6_one_sided_conformance_probability(p, z):
    """JCGM 106:2012, 7.2, Table 1: the probability for a distance of z standard uncertainties, both
    limits.
    """
    assert at_most(10.0 - z * 0.3, 0.3, 10.0) == pytest.approx(p, abs=5e-4)
    assert at_least(10.0 + z * 0.3, 0.3, 10.0) == pytest.approx(p, abs=5e-4)
    assert normal_below(z) == pytest.approx(stats.norm.cdf(z), abs=1e-12)


def test_u7_upper_limit_example():
    """JCGM 106:2012, 7.3, diode breakdown voltage (inputs from memory): published 0.92."""
    assert at_most(-5.47, 0.05, -5.40) == pytest.approx(0.9192, abs=1e-4)


def test_u8_lower_limit_example():
    """JCGM 106:2012, 7.3, container burst pressure (inputs from memory): published 0.99."""
    assert at_least(509.7, 8.6, 490) == pytest.approx(0.989010, abs=1e-6)


def test_u9_two_limits_example():
    """JCGM 106:2012, 7.4, oil viscosity (inputs from memory): published 0.66."""
    assert at_most(13.6, 1.8, 16.3) - at_most(13.6, 1.8, 12.5) == pytest.approx(0.662630, abs=1e-6)


def test_u10_guarded_rejection():
    """JCGM 106:2012, 8.3.3, speed meter (from memory): u is 2 % of the reading, reject when p(over)
    >= 0.999.
    """
    assert 1 - at_most(106.588, 0.02 * 106.588, 100) == pytest.approx(0.999, abs=1e-5)
    assert 1 - at_most(107, 0.02 * 107, 100) == pytest.approx(0.99946, abs=1e-5)


def test_u11_simple_acceptance_risks_a_half():
    """ILAC-G8:09/2019, 4.2.1: measured exactly at the limit."""
    assert at_most(5.0, 0.3, 5.0) == pytest.approx(0.5, abs=1e-9)


@pytest.mark.parametrize(
    ("r", "risk"), [(0.5, 0.1587), (0.83, 0.0485), (1.0, 0.02275), (1.5, 0.00135)]
)
def test_u12_false_accept_risk_behind_a_guard_band(r, risk):
    """ILAC-G8:09/2019, 4.2.2: guard band r U with U = 2 u."""
    assert 1 - at_most(5.0 - r * 0.6, 0.3, 5.0) == pytest.approx(risk, abs=5e-5)


def test_u13_acceptance_limit_for_95_percent():
    """ISO 14253-1:2017 idea (edition detail from memory): limit 5.0 uV, u 0.3 uV."""
    assert at_most(4.5065, 0.3, 5.0) == pytest.approx(0.95, abs=1e-4)
    assert at_most(4.40, 0.3, 5.0) == pytest.approx(stats.norm.cdf(2), abs=1e-9)


@pytest.mark.parametrize(
    ("guard", "consumer", "producer"),
    [(0.0, 0.01894, 0.03721), (0.08, 0.000469, 0.2477), (-0.08, 0.0694, 0.000681)],
)
def test_u14_global_risks(guard, consumer, producer):
    """JCGM 106:2012, 9.5 (inputs from memory, outputs recomputed): process N(1500, 0.12), limits
    1499.8 .. 1500.2.
    """
    low, high, u = 1499.8, 1500.2, 0.04

    def accepted(true):
        return at_most(true, u, high - guard) - at_most(true, u, low + guard)

    def mass(start, end, chance):
        return integrate.quad(
            lambda t: chance(t) * stats.norm.pdf(t, 1500, 0.12), start, end, limit=200
        )[0]

    bad = mass(1499.0, low, accepted) + mass(high, 1501.0, accepted)
    good = mass(low, high, lambda t: 1 - accepted(t))
    assert bad == pytest.approx(consumer, abs=1e-4)
    assert good == pytest.approx(producer, abs=1e-4)


def test_meter_error_is_the_convolution_of_rectangle_and_normal():
    """Against numerical integration: probability that reading plus rectangular plus normal error is
    above the limit.
    """
    half, u, limit = 0.0325, 0.004, 2.5
    for reading in (2.46, 2.49, 2.5, 2.52, 2.56):
        truth = integrate.quad(
            lambda e, y=reading: stats.norm.cdf((y + e - limit) / u), -half, half
        )[0] / (2 * half)
        assert conforms_lower_meter(reading, half, u, limit) == pytest.approx(truth, abs=1e-7)
    assert conforms_lower_meter(2.5, half, 0.0, limit) == 0.5
    assert conforms_lower_meter(2.6, half, 0.0, limit) == 1.0


def test_noise_conformance_is_the_chi_square_tail():
    """Against SciPy, and against the fraction of true values a large simulation leaves below the
    limit.
    """
    assert conforms_noise(1.9, 400, 2.0) == pytest.approx(
        stats.chi2.sf(400 * (1.9 / 2.0) ** 2, 400), abs=1e-12
    )
    rng = np.random.default_rng(1)
    true = 1.9 * np.sqrt(400 / rng.chisquare(400, 200_000))
    assert conforms_noise(1.9, 400, 2.0) == pytest.approx(np.mean(true <= 2.0), abs=0.003)
