"""Mains: found where it is, whatever was declared; nothing found where there is nothing."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.spectrum.mains import find_mains
from tests.readiness.signal.made import quiet


def with_line(hz: float, uv: float, seed: int = 1, third: float = 0.3) -> np.ndarray:
    t = np.arange(10240) / 1024
    x = quiet(np.random.default_rng(seed)) + uv * np.sin(2 * np.pi * hz * t)
    return x + third * uv * np.sin(2 * np.pi * 3 * hz * t + 1)


def test_no_line_in_plain_noise():
    present = [
        find_mains(quiet(np.random.default_rng(seed)), 1024.0, 50.0).present for seed in range(60)
    ]
    assert sum(present) <= 1


def test_declared_frequency_counts_only_when_no_line_stands_out():
    silent = find_mains(quiet(np.random.default_rng(3)), 1024.0, 60.0)
    assert (silent.present, silent.nominal_hz) == (False, 60.0)
    assert find_mains(with_line(60.02, 5), 1024.0, 50.0).nominal_hz == 60.0


def test_amplitude_and_uncertainty():
    mains = find_mains(with_line(50.03, 10), 1024.0)
    assert mains.rms_uv == pytest.approx(10 * np.sqrt(1.09 / 2), rel=0.02)
    assert 0 < mains.u_uv < 0.1
    orders = {order: amplitude for order, _, amplitude in mains.harmonics}
    assert orders[1] == pytest.approx(10, rel=0.02)
    assert orders[3] == pytest.approx(3, rel=0.05)


@pytest.mark.parametrize("error", [0.02, -0.02, 0.04])
def test_a_line_off_its_place_is_told(error):
    mains = find_mains(with_line(50 * (1 + error), 20), 1024.0)
    assert mains.stray_hz == pytest.approx(50 * (1 + error), abs=0.11)


@pytest.mark.parametrize("error", [0.011, 0.012, 0.013, 0.015])
@pytest.mark.parametrize("uv", [2, 20])
@pytest.mark.parametrize("nominal", [50, 60])
def test_a_line_between_its_place_and_beside_it_is_told_too(error, uv, nominal):
    for sign in (1, -1):
        hz = nominal * (1 + sign * error)
        assert find_mains(with_line(hz, uv), 1024.0).stray_hz == pytest.approx(hz, abs=0.03)


@pytest.mark.parametrize("hz", [49.5, 50.5, 59.5, 60.5])
def test_the_edge_of_what_a_grid_does_is_no_wrong_rate(hz):
    for seed in range(5):
        assert find_mains(with_line(hz, 2, seed), 1024.0).stray_hz is None


def test_a_line_in_its_place_is_not_stray():
    assert find_mains(with_line(50.2, 20), 1024.0).stray_hz is None
