"""A whole capture of the simulator against theory: shorted inputs show what Nyquist, amplifier and
converter give (row N17).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import chi2

from readiness.signal.simulator.captures import Setup, band_noise_uv, simulate
from tests.readiness.signal.spectra import band_rms

NO_MAINS = {"lead_na": 0.0, "bar_na": 0.0, "body_na": 0.0, "loop_uv": 0.0}
FLAT = {
    "high_pass_hz": 0.0,
    "low_pass_hz": 900.0,
    "low_pass_order": 8,
    "flicker_corner_hz": 0.0,
    "bits": 24,
}


@pytest.mark.parametrize("rate_hz", [256.0, 1000.0, 4096.0])
@pytest.mark.parametrize("bits", [12, 24])
def test_shorted_inputs_show_thermal_amplifier_and_quantisation_noise(
    rate_hz: float, bits: int
) -> None:
    setup = Setup(
        rate_hz=rate_hz, bits=bits, full_scale_uv=1200.0, low_pass_hz=0.4 * rate_hz, **NO_MAINS
    )
    low, high = setup.band_hz
    power = [
        band_rms(
            simulate("still", replace(setup, seed=seed)).capture.emg.samples, rate_hz, low, high
        )
        ** 2
        for seed in range(6)
    ]
    # Row N17: 2 B T degrees of freedom in each of six captures.
    dof = 2 * (high - low) * 10 * len(power)
    least, most = chi2.ppf((0.0005, 0.9995), dof) / dof
    assert least < np.mean(power) / band_noise_uv(setup) ** 2 < most
