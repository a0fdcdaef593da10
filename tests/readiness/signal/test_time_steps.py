"""The steps of a time column."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.time_steps import measure_steps


def test_a_fractional_rate_is_not_rounded_to_a_whole_one():
    t = np.arange(10_000) / 999.7
    assert measure_steps(np.round(t, 6)).rate_hz == pytest.approx(999.7, rel=1e-6)


@pytest.mark.parametrize("decimals", [3, 4, 6])
def test_rounding_to_the_written_decimals_is_no_odd_step(decimals):
    steps = measure_steps(np.round(np.arange(10_000) / 1024.0, decimals))
    assert steps.rate_hz == 1024.0 and steps.regular == 1.0


def test_each_odd_step_is_of_one_kind():
    t = np.arange(1000) / 500.0
    t[300:] += 0.1  # fifty samples lack
    t[600] = t[599]
    steps = measure_steps(t)
    # The stamp that stands still is followed by a step of two.
    assert steps.gap_after.tolist() == [299, 600]
    assert steps.gap_samples.tolist() == [50, 1]
    assert steps.repeated.tolist() == [599] and not len(steps.backward)


@pytest.mark.parametrize(
    "t", [np.zeros(2), np.zeros(100), np.arange(100.0)[::-1], np.geomspace(1e-3, 1e3, 100)]
)
def test_times_without_a_steady_step_give_nothing(t):
    assert measure_steps(t) is None
