"""White and flicker noise against theory: row N8."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.simulator.sources import Clock, flicker
from tests.readiness.signal.spectra import band_rms


def test_white_noise_has_the_density_it_was_asked_for() -> None:
    clock = Clock(1000.0, 1, 0.0, 100.0)
    x = clock.white(np.random.default_rng(2), 1e3 * np.sqrt(0.002))
    # Row N8: variance 1 at 1000 Hz is 0.002 per hertz, 0.927362 RMS in 20 to 450 Hz; 1/(2 sqrt(BT))
    # = 0.24 % (N17).
    assert x.std() == pytest.approx(1.0, abs=0.01)
    assert band_rms(x, 1000.0, 20, 450) == pytest.approx(0.927362, rel=0.01)


def test_flicker_noise_doubles_in_power_at_its_corner() -> None:
    clock = Clock(1024.0, 1, 0.0, 400.0)
    x = flicker(clock, np.random.default_rng(8), 100.0, 20.0)
    at_corner, far = band_rms(x, 1024.0, 19, 21) ** 2 / 2, band_rms(x, 1024.0, 300, 500) ** 2 / 200
    assert at_corner / far == pytest.approx(2.0, rel=0.15)
