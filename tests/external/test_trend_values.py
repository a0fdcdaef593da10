"""Control charts and trend tests against published examples (rows T1-T10 of the table of standards)
and SciPy.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from readiness.judgement.drift import (
    D2_OF_TWO,
    ewma,
    forecast,
    individuals,
    mann_kendall,
    theil_sen,
)

NIST_EWMA = (
    52.0,
    47.0,
    53.0,
    49.3,
    50.1,
    47.0,
    51.0,
    50.1,
    51.2,
    50.5,
    49.6,
    47.6,
    49.9,
    51.3,
    47.8,
    51.2,
    52.6,
    52.4,
    53.6,
    52.1,
)
EPA = (10, 10, 10, 5, 10, 20, 18, 17, 15, 24, 15)


def test_t1_ewma_series():
    """NIST/SEMATECH e-Handbook 6.3.2.4: weight 0.3, start 50; all 21 printed values."""
    printed = [
        50.00,
        50.60,
        49.52,
        50.56,
        50.18,
        50.16,
        49.21,
        49.75,
        49.85,
        50.26,
        50.33,
        50.11,
        49.36,
        49.52,
        50.05,
        49.38,
        49.92,
        50.73,
        51.23,
        51.94,
        51.99,
    ]
    assert ewma(NIST_EWMA, 50, 2.0539).values == pytest.approx(printed, abs=0.006)
    assert ewma(NIST_EWMA, 50, 2.0539).values[-1] == pytest.approx(51.9882, abs=1e-4)


def test_t2_ewma_limits():
    found = ewma(NIST_EWMA, 50, 2.0539)
    assert (found.upper, found.lower) == pytest.approx((52.588432, 47.411568), abs=1e-6)
    assert found.out == ()


def test_t4_individuals_chart():
    """NIST/SEMATECH e-Handbook 6.3.2.2."""
    chart = individuals(NIST_EWMA[10:])
    assert chart.centre == pytest.approx(50.81)
    assert (chart.upper, chart.lower) == pytest.approx(
        (55.8041, 45.8159), abs=2e-3
    )  # printed with 1.128
    assert chart.sigma * D2_OF_TWO == pytest.approx(1.87778, abs=1e-5)


def test_t5_montgomery_and_runger_exercise():
    """Exercise 15-17: mean 53.05, mean moving range 56/19; prints 60.888 and 45.212."""
    values = [53.05]
    for step in range(19):  # any series with these two means; the chart knows nothing else of it
        values.append(values[-1] + 56 / 19 * (1 if step % 2 else -1))
    values = [v - sum(values) / 20 + 53.05 for v in values]
    chart = individuals(values)
    assert (chart.upper, chart.lower) == pytest.approx(
        (60.8887, 45.2113), abs=3e-3
    )  # printed with 1.128
    assert chart.sigma == pytest.approx(2.612, abs=1e-3)


def test_t6_constants():
    rng = np.random.default_rng(1)
    assert pytest.approx(1.128379, abs=1e-6) == D2_OF_TWO
    assert np.mean(np.abs(np.diff(rng.normal(size=400_000)))) == pytest.approx(D2_OF_TWO, rel=0.005)


def test_t7_check_kit_out_of_its_own_limits():
    """NIST/SEMATECH e-Handbook 2.1.2 (from memory): a check standard outside its limits voids the
    day.
    """
    chart = individuals([1.00, 1.02, 0.99, 1.01, 1.00, 0.98, 1.01, 1.02])
    assert chart.lower <= 1.03 <= chart.upper
    assert not chart.lower <= 1.25 <= chart.upper
    assert not chart.lower <= 0.80 <= chart.upper


def test_t8_mann_kendall_with_ties():
    """EPA QA/G-9S (2006), p. 109: S 22, Z prints 1.685; one-sided chance 0.0460."""
    found = mann_kendall(EPA)
    assert found.s == 22
    assert found.variance == pytest.approx(155.333333, abs=1e-6)
    assert found.z == pytest.approx(1.684950, abs=1e-6)
    assert found.chance == pytest.approx(0.0920, abs=1e-4)


def test_t9_theil_sen_on_the_same_data_and_scipy():
    x = range(1, 12)
    found = theil_sen(x, EPA)
    theirs = stats.theilslopes(EPA, x, 0.95)
    assert (found.slope, found.intercept) == pytest.approx((1.0, 9.0))
    assert (found.slope, found.intercept) == pytest.approx((theirs.slope, theirs.intercept))
    assert (found.low, found.high) == pytest.approx((0.0, 2.0))
    assert (found.low, found.high) == pytest.approx((theirs.low_slope, theirs.high_slope))


def test_t9_agrees_with_scipy_on_random_series():
    rng = np.random.default_rng(2)
    for _ in range(50):
        n = int(rng.integers(5, 30))
        x, y = np.cumsum(rng.uniform(1, 90, n)), rng.normal(0, 1, n)
        ours, theirs = theil_sen(x, y), stats.theilslopes(y, x, 0.95)
        assert (ours.slope, ours.low, ours.high) == pytest.approx(
            (theirs.slope, theirs.low_slope, theirs.high_slope)
        )


def test_t10_robust_to_one_wild_value():
    assert theil_sen(range(1, 6), (1, 2, 4, 3, 50)).slope == pytest.approx(1.75)
    assert mann_kendall((1, 2, 4, 3, 50)).s == 8


def test_forecast_says_when_with_an_interval():
    rng = np.random.default_rng(3)
    days = np.arange(0, 500, 50)
    noise = 1.0 + 0.001 * days + rng.normal(0, 0.01, len(days))
    found = forecast(days, noise, 2.0)
    assert found.earliest < 550 < found.latest
    assert found.due == pytest.approx(550, abs=60)


def test_forecast_of_a_falling_voltage():
    days = [0, 30, 60, 90, 120, 150]
    found = forecast(days, [3.0, 2.95, 2.91, 2.84, 2.80, 2.76], 2.5, rising=False)
    assert found.due == pytest.approx((2.76 - 2.5) / (0.24 / 150), rel=0.15)
    assert found.earliest <= found.due <= found.latest


def test_no_forecast_without_a_proven_drift_towards_the_limit():
    rng = np.random.default_rng(4)
    assert forecast(range(10), rng.normal(1, 0.1, 10), 2.0) is None
    assert forecast(range(4), [1, 2, 3, 4], 9.0) is None
    assert forecast(range(8), [8, 7, 6, 5, 4, 3, 2, 1], 9.0) is None


@pytest.mark.parametrize("values", [[], [1.0], [1.0, float("nan")], [[1.0, 2.0]]])
def test_a_series_must_be_one(values):
    with pytest.raises(ValueError, match="series"):
        individuals(values)
