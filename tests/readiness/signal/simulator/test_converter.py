"""Quantisation and rejection against theory: rows N5 and S6."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.simulator import converter
from readiness.signal.simulator.captures import Setup
from readiness.signal.simulator.sources import Clock


@pytest.mark.parametrize(
    ("bits", "range_mv", "step_uv", "rms_uv"),
    [(12, 5, 1.220703, 0.352387), (16, 10, 0.152588, 0.0440483)],
)
def test_quantisation_error_is_a_step_over_root_twelve(
    bits: int, range_mv: float, step_uv: float, rms_uv: float
) -> None:
    setup = Setup(bits=bits, full_scale_uv=500.0 * range_mv)  # row N5
    x = np.random.default_rng(5).uniform(-400, 400, 200_000)
    assert setup.step_uv == pytest.approx(step_uv, rel=1e-5)
    error = converter.convert(setup, x, ()) - x
    # Relative standard deviation of the RMS of a uniform error: 0.45 / sqrt(n) = 0.1 %; four of
    # them.
    assert np.sqrt(np.mean(error**2)) == pytest.approx(rms_uv, rel=0.004)


def test_rejection_of_100_db_leaves_10_uv_of_a_volt() -> None:
    clock = Clock(2048.0, 4, 0.0, 4.0)
    setup = Setup(
        cmrr_db=100.0, cmrr_phase_deg=0.0, noise_density_nv=0, lead_kohm=(0, 0), bar_ohm=0
    )
    volt = 1e6 * np.sin(2 * np.pi * 50 * clock.t)
    x = converter.first_stage(clock, setup, volt, volt, np.random.default_rng(0))
    assert x.max() == pytest.approx(10.0, rel=1e-3)  # row S6
