"""Noise floor: lines taken out, bands filled, degrees of freedom that follow the trace."""

from __future__ import annotations

import math

import numpy as np
import pytest

from readiness.signal.spectrum.noise import band_density, fill_weights, floor, spectrum
from tests.readiness.signal.made import quiet

TRUTH = math.sqrt(2 / 1024 * 389.6)


def hum(t: np.ndarray, hz: float, uv: float, sway: float = 0.0) -> np.ndarray:
    return uv * (1 + sway * np.sin(2 * np.pi * 0.2 * t)) * np.sin(2 * np.pi * hz * t + 0.4)


def test_strong_swaying_hum_leaves_the_floor_alone():
    rng = np.random.default_rng(1)
    t = np.arange(10240) / 1024
    found = []
    for _ in range(20):
        x = quiet(rng) + hum(t, 50.04, 200, 0.05) + hum(t, 150.12, 60, 0.05)
        found.append(floor(spectrum(x, 1024.0, (50.04, 100.08, 150.12)), 20, 409.6).rms_uv)
    assert np.mean(found) == pytest.approx(TRUTH, rel=0.01)


def test_movement_below_the_band_does_not_leak_into_it():
    rng = np.random.default_rng(2)
    t = np.arange(10240) / 1024
    x = quiet(rng) + 60 * np.sin(2 * np.pi * 3.3 * t) + 40 * np.sin(2 * np.pi * 7.1 * t)
    assert floor(spectrum(x, 1024.0), 20, 409.6).rms_uv == pytest.approx(TRUTH, rel=0.03)


def test_bins_left_out_are_filled_from_their_neighbours():
    rng = np.random.default_rng(3)
    found = spectrum(quiet(rng), 1024.0, (50.0, 100.0, 150.0))
    inside = (found.hz >= 20) & (found.hz <= 409.6)
    weights = fill_weights(found, inside)
    assert not weights[~found.usable].any()
    assert weights.sum() == pytest.approx(inside.sum() - 1)  # the two edge bins count by half
    assert floor(found, 20, 409.6).left_out == pytest.approx(15 / 390, abs=0.005)


def test_a_burst_makes_the_figure_less_sure():
    rng = np.random.default_rng(4)
    x = quiet(rng)
    steady = floor(spectrum(x, 1024.0), 20, 409.6)
    x[5000:5400] *= 8
    bursting = floor(spectrum(x, 1024.0), 20, 409.6)
    assert bursting.rms_uv > 1.3 * steady.rms_uv
    assert bursting.dof < steady.dof / 20


def test_a_frame_must_fit():
    with pytest.raises(ValueError, match="500 samples do not fill a frame of 1024"):
        spectrum(np.zeros(500), 1024.0)


def test_a_band_without_bins_is_refused():
    found = spectrum(quiet(np.random.default_rng(5)), 1024.0, (50.0,))
    with pytest.raises(ValueError, match="left out"):
        floor(found, 48.5, 51.5)


def test_a_flat_line_has_no_noise():
    assert floor(spectrum(np.full(10240, 3.0), 1024.0), 20, 400).rms_uv == pytest.approx(
        0, abs=1e-9
    )


def test_band_density_is_that_of_white_noise():
    found = spectrum(quiet(np.random.default_rng(6)), 1024.0)
    assert band_density(found, 100, 300) == pytest.approx(2 / 1024, rel=0.05)
    assert math.isnan(band_density(found, 600, 700))
