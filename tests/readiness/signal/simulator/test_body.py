"""What the body behind a hand drives into the leads."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from readiness.signal.simulator.captures import Fault, Setup, simulate
from readiness.signal.simulator.hand import Hand
from tests.readiness.signal.made import SETUP

pytestmark = pytest.mark.any_database
LOUD = Hand(mains_v=2.0, lead_pf=20.0, bar_pf=100.0, static_v=5.0)


def lift(hand: Hand, *faults: Fault, **changes: float) -> np.ndarray:
    setup: Setup = replace(SETUP, hand=hand, lead_na=0.02, **changes)
    return simulate("lift", setup, faults, np.random.default_rng(2)).capture.emg.samples


def test_a_lead_open_under_a_loud_hand_swings_from_rail_to_rail_and_not_under_a_calm_hand() -> None:
    calm, loud = (np.abs(lift(hand, Fault("open_lead", np.inf, "A"))) for hand in (Hand(), LOUD))
    held = slice(round(3.5 * SETUP.rate_hz), round(4.5 * SETUP.rate_hz))
    assert np.mean(loud[held] > 4900) > 0.5 and np.mean(calm[held] > 4900) < 0.05


def test_static_swings_hold_the_first_stage_at_its_stop_where_noise_falls() -> None:
    x = lift(Hand(static_v=100.0, lead_pf=50.0), stage_range_mv=20.0, stopped_gain=0.001)
    rate = round(SETUP.rate_hz)
    noise = [np.diff(part).std() for part in np.split(x[: 10 * rate], 40)]
    assert min(noise[12:18]) < 0.5 * np.median(noise[:8])


def test_a_finger_on_the_lifted_snap_brings_the_heart_in() -> None:
    touched = Hand(mains_v=0.1, finger=1.0, finger_kohm=20.0, lead_pf=0.2)
    held = slice(round(3.3 * SETUP.rate_hz), round(4.2 * SETUP.rate_hz))
    peaks = [np.abs(lift(touched, heart_uv=uv)[held]).max() for uv in (0.0, 3000.0)]
    assert peaks[0] < 500 and peaks[1] > 1000
