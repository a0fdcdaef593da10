"""Inputs at their stop, and units that cannot be."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.integrity.checks import check_integrity
from readiness.signal.integrity.scale import thermal_noise_uv

from .traces import RATE, capture, codes_of, noise


@pytest.mark.parametrize("sign", [1, -1])
def test_a_silent_input_at_200_mv_is_at_its_stop_and_a_live_one_is_not(sign):
    # A stage at its stop passes a few per cent of 1.5 uV; a live one all of it.
    (note,) = check_integrity(capture(sign * 200e3 + noise(sd=0.08, step=1e-3)))
    assert note.code == "saturated" and "constant offset of" in note.text and "200 mV" in note.text
    assert codes_of(sign * 200e3 + noise(sd=1.0)) == []


def test_skin_may_stand_further_off_than_a_bar():
    assert codes_of(200e3 + noise(), test="worn") == []
    assert codes_of(350e3 + noise(), test="worn") == ["saturated"]


def test_millivolts_called_microvolts():
    # 1.5 uV RMS written as 0.0015 with the unit uV: below sqrt(4 k T R B) of 100 ohm, 0.0263 uV
    # (Nyquist 1928).
    assert thermal_noise_uv(RATE) == pytest.approx(0.0248, abs=0.0005)
    assert codes_of(noise() / 1e3) == ["wrong_scale"]
    assert codes_of(noise() / 1e3, full_scale=(-5.0, 5.0)) == ["wrong_scale"]


def test_hum_does_not_hide_a_wrong_unit():
    t = np.arange(10_000) / RATE
    assert codes_of((noise(step=1e-3) + 3.0 * np.sin(2 * np.pi * 50 * t)) / 1e3) == ["wrong_scale"]


def test_a_stage_held_at_its_stop_for_most_of_a_lift_is_no_wrong_unit():
    x = noise()
    x[len(x) // 4 :] *= 1e-15
    assert codes_of(x, test="lift") == []


def test_microvolts_called_volts():
    assert "wrong_scale" in codes_of(noise(sd=20.0) * 1e6)


def test_steps_too_coarse_for_any_muscle():
    assert codes_of(noise(sd=500.0, step=89.0), resolution=89.0, full_scale=(-2.9e6, 2.9e6)) == [
        "wrong_scale"
    ]
