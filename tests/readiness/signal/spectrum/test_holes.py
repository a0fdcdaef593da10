"""Holes in a spectrum: a filter's are told, an amplifier's own band is not."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import butter, sosfilt

from readiness.signal.spectrum.holes import OwnBand, hole_in_words
from readiness.signal.spectrum.noise import spectrum
from tests.readiness.signal.made import quiet
from tests.readiness.signal.spoiled import spoil

pytestmark = pytest.mark.any_database
LIMIT = 4.0 / 430.0


def hole(x: np.ndarray, rate: float = 1000.0, own: OwnBand | None = None) -> str:
    lines = tuple(50.0 * order for order in range(1, int(rate / 100)))
    own = own or OwnBand(None, None, LIMIT)
    return hole_in_words(spectrum(x, rate, lines), rate, own, one_sided=False)


@pytest.mark.parametrize("rate", [250.0, 500.0, 1000.0, 4096.0])
@pytest.mark.parametrize("corners", [(0.5, 0.42), (30.0, 0.4), (20.0, 0.5)])
def test_an_amplifiers_usual_corners_leave_no_hole(rate, corners):
    high, low = corners
    for order in (1, 4):
        x = quiet(np.random.default_rng(order), 1.0, rate)
        x = sosfilt(butter(order, high, "high", fs=rate, output="sos"), x)
        if low < 0.5:
            x = sosfilt(butter(order, low * rate, fs=rate, output="sos"), x)
        assert hole(x, rate) == ""


@pytest.mark.parametrize("way", ["band 100-200", "below 80, order 2", "mean of 3", "bell 1"])
def test_a_programs_filter_leaves_one(way):
    assert hole(spoil(way, quiet(np.random.default_rng(2), 1.0, 1000.0), 1000.0))


def test_beyond_the_stated_band_nothing_is_missed():
    x = spoil("below 80, order 2", quiet(np.random.default_rng(2), 1.0, 1000.0), 1000.0)
    assert hole(x, own=OwnBand(None, 80.0, LIMIT)) == ""


def test_a_stage_that_a_lifted_lead_stops_is_no_filter():
    x = quiet(np.random.default_rng(6), 1.0, 1000.0)
    t = np.arange(len(x)) / 1000.0
    swings = np.random.default_rng(7).normal(0, 3, len(x))
    swings = sosfilt(butter(4, 40, fs=1000.0, output="sos"), swings)
    stopped = np.where(t < 2.4, x, 1e-3 * x + swings)
    lines = tuple(50.0 * order for order in range(1, 10))
    own = OwnBand(None, None, LIMIT)
    seen = spectrum(stopped, 1000.0, lines)
    assert hole_in_words(seen, 1000.0, own, one_sided=False, rests=False) == ""
    filtered = spectrum(spoil("band 100-200", x, 1000.0), 1000.0, lines)
    assert hole_in_words(filtered, 1000.0, own, one_sided=False, rests=False)
