"""Leads and inputs against theory: rows S5 and S6."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.simulator.captures import Fault, Setup
from readiness.signal.simulator.network import Network, through_lead
from readiness.signal.simulator.script import Script
from readiness.signal.simulator.sources import Clock, MainsSource

NO_MAINS = {"lead_na": 0.0, "bar_na": 0.0, "body_na": 0.0, "loop_uv": 0.0}


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


def network(setup: Setup, script: Script, faults: tuple[Fault, ...] = ()) -> tuple[Clock, Network]:
    rng = np.random.default_rng(4)
    clock = Clock(setup.rate_hz, 8, 2.0, 10.5)
    return clock, Network(clock, MainsSource(clock, setup, rng), setup, script, faults, rng, rng)


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
