"""Mains harmonics are looked for where sampling puts them."""

import numpy as np
import pytest

from readiness.signal.spectrum.line_search import alias_hz, peaks

RATE = 1000.0
T = np.arange(10_000) / RATE


def power_of(x: np.ndarray) -> np.ndarray:
    """Mean square per bin of a whole record."""
    return 2 * np.abs(np.fft.rfft(x)) ** 2 / len(x) ** 2


def noise(seed: int = 1) -> np.ndarray:
    return np.random.default_rng(seed).normal(0, 1, len(T))


@pytest.mark.parametrize(
    ("frequency", "rate", "seen"),
    [(50, 1000, 50), (150, 256, 106), (300, 256, 44), (256, 256, 0), (128, 256, 128)],
)
def test_a_frequency_is_folded_by_sampling(frequency, rate, seen):
    assert alias_hz(frequency, rate) == seen


def test_lines_that_stand_out_are_named_by_order_with_their_mean_square():
    lines = 3 * np.sin(2 * np.pi * 50.1 * T) + np.sin(2 * np.pi * 150.3 * T)
    found = dict(peaks(power_of(noise() + lines), len(T), RATE, 50.0))
    assert set(found) == {1, 3}
    assert found[1] == pytest.approx(4.5, rel=0.1)
    assert found[3] == pytest.approx(0.5, rel=0.1)


@pytest.mark.parametrize("seed", range(3))
def test_noise_alone_has_none_nor_has_a_line_elsewhere(seed):
    assert peaks(power_of(noise(seed)), len(T), RATE, 50.0) == []
    elsewhere = noise(seed) + 3 * np.sin(2 * np.pi * 57 * T)
    assert peaks(power_of(elsewhere), len(T), RATE, 50.0) == []


def test_a_record_too_slow_for_any_harmonic_has_none():
    assert peaks(power_of(noise()[:1000]), 1000, 20.0, 50.0) == []
