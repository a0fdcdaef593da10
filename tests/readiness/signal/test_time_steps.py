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
    # The step of two after the stamp that stands still only leads back to the line.
    assert steps.gap_after.tolist() == [299]
    assert steps.gap_samples.tolist() == [50]
    assert steps.repeated.tolist() == [599] and not len(steps.backward)


@pytest.mark.parametrize(
    "t", [np.zeros(2), np.zeros(100), np.arange(100.0)[::-1], np.geomspace(1e-3, 1e3, 100)]
)
def test_times_without_a_steady_step_give_nothing(t):
    assert measure_steps(t) is None


@pytest.mark.parametrize("rate", [976.5625, 990.0, 1024.0])
def test_a_rate_that_is_no_round_one_is_no_loss(rate):
    steps = measure_steps(np.round(np.arange(10_000) / rate, 3))
    assert steps.rate_hz == pytest.approx(rate, rel=1e-4) and not len(steps.gap_after)


@pytest.mark.parametrize("jitter_ms", [0.1, 0.16, 0.2, 0.3, 0.5, 2.0])
@pytest.mark.parametrize("draw", ["normal", "uniform"])
def test_stamps_that_come_late_are_no_other_rate_and_no_gap(jitter_ms, draw):
    """A clock never runs backward: late stamps are written in their order."""
    rng = np.random.default_rng(1)
    late = rng.normal(0, 1, 10_000) if draw == "normal" else rng.uniform(-1.7, 1.7, 10_000)
    t = np.sort(np.arange(10_000) / 1000.0 + 1e-3 * jitter_ms * late)
    steps = measure_steps(np.round(t, 6))
    assert steps.rate_hz == pytest.approx(1000.0, rel=1e-4)
    assert not len(steps.gap_after)


def test_a_column_of_millisecond_stamps_at_any_rate_is_a_straight_line():
    for rate in np.random.default_rng(3).uniform(251, 975, 40):
        steps = measure_steps(np.round(np.arange(round(10 * rate)) / rate, 3))
        assert steps.rate_hz == pytest.approx(rate, rel=2e-3)
        assert not len(steps.gap_after) + len(steps.uneven) + len(steps.backward)
