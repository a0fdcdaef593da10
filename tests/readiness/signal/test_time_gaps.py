"""Samples that lack in a time column, and stamps that are only late."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.time_steps import measure_steps

pytestmark = pytest.mark.any_database


@pytest.mark.parametrize("rate", [500.0, 1000.0, 2000.0, 4000.0])
@pytest.mark.parametrize("decimals", [3, 4, 6])
def test_late_stamps_that_are_rounded_are_neither_gaps_nor_uneven(rate, decimals):
    rng = np.random.default_rng(5)
    for share in (0.05, 0.07, 0.1, 0.15):
        times = np.arange(round(10 * rate)) / rate + rng.normal(0, share / rate, round(10 * rate))
        steps = measure_steps(np.round(times, decimals))
        assert not len(steps.gap_after) and not len(steps.uneven), share


def lost(rate: float, count: int, gone: np.ndarray, decimals: int) -> np.ndarray:
    """Stamps of a converter of this rate, some of whose samples never arrived."""
    return np.round(np.delete(np.arange(count), gone) / rate, decimals)


@pytest.mark.parametrize("decimals", [3, 4, 6])
@pytest.mark.parametrize("rate", [500.0, 1000.0, 1024.0, 2048.0])
def test_samples_lost_at_random_are_gaps_and_no_other_rate(rate, decimals):
    count = round(10 * rate)
    gone = np.random.default_rng(7).choice(np.arange(5, count - 5), 103, replace=False)
    steps = measure_steps(lost(rate, count, gone, decimals))
    assert steps.rate_hz == pytest.approx(rate, rel=2e-3)
    # Stamps coarser than two steps show the larger part of them.
    assert 90 <= steps.gap_samples.sum() <= 140


@pytest.mark.parametrize("decimals", [3, 6])
def test_samples_lost_in_a_pattern_are_gaps(decimals):
    steps = measure_steps(lost(1000.0, 10_000, np.arange(50, 10_000, 97), decimals))
    assert steps.rate_hz == 1000.0 and steps.gap_samples.sum() == 103


def test_a_stated_rate_decides_between_a_slow_clock_and_lost_samples():
    t = lost(1000.0, 10_000, np.arange(50, 10_000, 97), 3)
    assert not len(measure_steps(t, stated_hz=989.7).gap_after)
    assert len(measure_steps(t, stated_hz=1000.0).gap_after) == 103


@pytest.mark.parametrize("jitter_ms", [0.1, 0.2, 0.3])
def test_gaps_are_found_among_stamps_that_scatter(jitter_ms):
    rng = np.random.default_rng(2)
    t = lost(1000.0, 10_000, np.array([2000, 5000, 5001, 8000]), 9)
    steps = measure_steps(np.round(t + rng.normal(0, 1e-3 * jitter_ms, len(t)), 6))
    assert steps.rate_hz == pytest.approx(1000.0, rel=1e-4)
    assert steps.gap_samples.sum() == 4
    assert [round(at / 1000) for at in steps.gap_after] == [2, 5, 8]


def test_a_gap_that_is_none_does_not_hide_the_others():
    for seed in (2, 3, 7, 8):
        rng = np.random.default_rng(seed)
        gone = np.sort(rng.choice(np.arange(20, 9980), 103, replace=False))
        times = np.arange(10_000) / 1e3 + rng.normal(0, 1e-4, 10_000)
        steps = measure_steps(np.delete(times, gone))
        assert steps.gap_samples.sum() == pytest.approx(103, abs=4), seed
