"""The parameters of a bench against theory: rows N2, N3, N6, N20 and N21."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.simulator.captures import (
    Fault,
    Setup,
    at_equal_density_uv,
    band_noise_uv,
    simulate,
    with_noise,
)
from readiness.signal.simulator.parameters import amplifier_gain, thermal_density_nv

FLAT = {
    "high_pass_hz": 0.0,
    "low_pass_hz": 900.0,
    "low_pass_order": 8,
    "flicker_corner_hz": 0.0,
    "bits": 24,
}


@pytest.mark.parametrize(
    ("ohm", "kelvin", "band_hz", "uv"),
    [
        (10e3, 300.0, 480.0, 0.28200),  # row N3
        (10e3, 293.15, 430.0, 0.26385),
        (2e3, 298.15, 480.0, 0.12573),
        (1e3, 300.0, 1.0, 4.0704e-3),  # row N2
    ],
)
def test_thermal_noise_of_the_leads_is_nyquists(
    ohm: float, kelvin: float, band_hz: float, uv: float
) -> None:
    setup = Setup(lead_kohm=(ohm / 2e3, ohm / 2e3), bar_ohm=0.0, temperature_k=kelvin)
    assert thermal_density_nv(setup) * 1e-3 * np.sqrt(band_hz) == pytest.approx(uv, rel=1e-4)


def test_true_noise_of_a_white_amplifier_is_density_times_root_band() -> None:
    setup = Setup(
        rate_hz=2048, noise_density_nv=50, lead_kohm=(0, 0), bar_ohm=0, second_stage_nv=0, **FLAT
    )
    assert band_noise_uv(setup) == pytest.approx(1.03682, rel=1e-3)  # row N6: 50 nV, 430 Hz


def test_high_pass_is_a_second_order_butterworth() -> None:
    setup = Setup(high_pass_hz=20.0, low_pass_hz=1e9)
    level = 20 * np.log10(np.abs(amplifier_gain(setup, np.array([5.0, 10.0, 20.0, 40.0]))))
    assert level == pytest.approx([-24.0993, -12.3045, -3.0103, -0.2633], abs=1e-3)  # row N20


@pytest.mark.parametrize(
    ("order", "factor"), [(1, 1.570796), (2, 1.110721), (3, 1.047198), (4, 1.026172)]
)
def test_low_pass_has_the_noise_bandwidth_of_its_order(order: int, factor: float) -> None:
    freq = np.linspace(0, 2000, 2_000_001)
    setup = Setup(high_pass_hz=0.0, low_pass_hz=1.0, low_pass_order=order)
    # Row N21; beyond 2000 corners a first-order filter keeps 1/2000 of a corner.
    assert np.trapezoid(np.abs(amplifier_gain(setup, freq)) ** 2, freq) == pytest.approx(
        factor, abs=6e-4
    )


def test_noise_can_be_set_and_refuses_to_go_below_physics() -> None:
    setup = with_noise(Setup(), 1.5)
    assert band_noise_uv(setup) == pytest.approx(1.5)
    with pytest.raises(ValueError, match="below"):
        with_noise(Setup(), 0.05)
    loud = simulate("still", setup, (Fault("excess_noise", 1.3),))
    assert loud.truth["noise_uv"] == pytest.approx(1.3 * at_equal_density_uv(setup))
