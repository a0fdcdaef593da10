"""The simulator against theory: rows N2 to N8, N20, N21, S5, S6 and B10 of the table of published
check values.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import chi2

from readiness.signal.simulator import converter
from readiness.signal.simulator.captures import Fault, Setup, band_noise_uv, simulate
from readiness.signal.simulator.network import Network, through_lead
from readiness.signal.simulator.parameters import amplifier_gain, thermal_density_nv
from readiness.signal.simulator.script import Script
from readiness.signal.simulator.sources import Clock, MainsSource, flicker
from tests.readiness.signal.spectra import band_rms

NO_MAINS = {"lead_na": 0.0, "bar_na": 0.0, "body_na": 0.0, "loop_uv": 0.0}
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


def test_true_noise_of_a_white_amplifier_is_density_times_root_band() -> None:
    setup = Setup(
        rate_hz=2048, noise_density_nv=50, lead_kohm=(0, 0), bar_ohm=0, second_stage_nv=0, **FLAT
    )
    assert band_noise_uv(setup) == pytest.approx(1.03682, rel=1e-3)  # row N6: 50 nV, 430 Hz


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


def test_unequal_leads_turn_common_mode_into_difference() -> None:
    rate = 8192.0
    one_volt = 1e6 * np.sin(2 * np.pi * 50 * np.arange(8192) / rate)
    # Row S6: 10 kohm against 100 Mohm, 1 V -> 100 uV. Row S5: 100 kohm into 10 Mohm loses 0.990 %
    # (first order: 1 %).
    difference = one_volt - through_lead(one_volt, 10.0, 100.0, 0.0, rate)
    assert np.abs(difference).max() == pytest.approx(100.0, rel=1e-6)
    assert np.abs(through_lead(one_volt, 100.0, 10.0, 0.0, rate)).max() / 1e6 == pytest.approx(
        1 - 0.0099, abs=2e-4
    )


def test_rejection_of_100_db_leaves_10_uv_of_a_volt() -> None:
    clock = Clock(2048.0, 4, 0.0, 4.0)
    setup = Setup(
        cmrr_db=100.0, cmrr_phase_deg=0.0, noise_density_nv=0, lead_kohm=(0, 0), bar_ohm=0
    )
    volt = 1e6 * np.sin(2 * np.pi * 50 * clock.t)
    x = converter.first_stage(clock, setup, volt, volt, np.random.default_rng(0))
    assert x.max() == pytest.approx(10.0, rel=1e-3)  # row S6


def network(setup: Setup, script: Script, faults: tuple[Fault, ...] = ()) -> tuple[Clock, Network]:
    rng = np.random.default_rng(4)
    clock = Clock(setup.rate_hz, 8, 2.0, 10.5)
    return clock, Network(clock, MainsSource(clock, setup, rng), setup, script, faults, rng)


def test_noise_of_a_floating_input_is_kt_over_c() -> None:
    setup = Setup(bias_pa=0.0, input_mohm=300.0, input_pf=80.0, temperature_k=298.15)
    _, net = network(setup, Script())
    x = net._float_noise(setup.input_mohm, setup.input_pf)
    # sqrt(kT/C) = 7.17 uV whatever the resistance (Nyquist 1928; the form kT/C from memory).
    assert x.std() == pytest.approx(1e6 * np.sqrt(1.380649e-23 * 298.15 / 80e-12), rel=0.15)


def test_an_input_left_floating_charges_with_r_times_c() -> None:
    setup = Setup(
        input_mohm=200.0,
        input_pf=100.0,
        input_mismatch=0.0,
        bias_pa=500.0,
        temperature_k=1e-9,
        **NO_MAINS,
    )
    script = Script(held=True)
    script.open["A"] = [(3.0, 4.0)]
    clock, net = network(setup, script)
    a, b = net.inputs()
    k = clock.index(3.0) + round(0.02 * clock.rate_hz)  # one time constant of 20 ms
    # 500 pA in 200 Mohm is 100 mV; the drift of a floating input adds up to 2 % of that and 30 uV,
    # in RMS.
    assert a[k] == pytest.approx(1e5 * (1 - np.exp(-1)), rel=0.08)
    assert a[clock.index(4.0) + 1] == pytest.approx(b[clock.index(4.0) + 1], abs=1e-6)
