"""Set-ups drawn from plausible ranges."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.simulator.captures import (
    at_equal_density_uv,
    band_noise_uv,
    draw_setup,
)


@pytest.mark.parametrize("spread", [1.0, 2.0])
def test_drawn_sound_benches_stay_below_the_limit_and_dither_their_converter(spread: float) -> None:
    rng = np.random.default_rng(11)
    for _ in range(150):
        setup = draw_setup(rng, spread)
        noise = band_noise_uv(setup)
        assert 0.05 * at_equal_density_uv(setup) < noise < 0.95 * at_equal_density_uv(setup)
        assert setup.step_uv < 3.0 * noise
        assert min(setup.lag_s + j for j in setup.jitter_s) >= -0.5
        assert max(setup.lag_s + j for j in setup.jitter_s) <= 0.5


def test_a_wider_spread_draws_from_wider_ranges() -> None:
    ranges = []
    for spread in (1.0, 2.0):
        rng = np.random.default_rng(6)
        drawn = np.log([draw_setup(rng, spread).input_mohm for _ in range(200)])
        ranges.append(drawn.max() - drawn.min())
    assert ranges[1] == pytest.approx(2 * ranges[0], rel=0.1)
