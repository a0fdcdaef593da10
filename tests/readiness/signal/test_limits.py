"""Limits, carried to the band of a rate and to the chemistry of a pack."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.bench_tests.judge_battery import battery_findings
from readiness.signal.limits import FULL_BAND_HZ, Limits, Meter, judged_band_hz


def verdicts(readings, limits=None):
    found, score, _ = battery_findings(readings, limits or Limits())
    return {(item.code, item.verdict) for item in found}, score


def test_limit_by_chemistry():
    assert Limits(chemistry="nimh").battery_limit_v == pytest.approx(2.4)
    assert Limits(chemistry="alkaline", cells=3).battery_limit_v == pytest.approx(3.75)
    assert verdicts(np.array([2.45]), Limits(chemistry="nimh"))[0] == set()
    with pytest.raises(ValueError, match="'zinc' is none of alkaline, nimh, lithium"):
        Limits(chemistry="zinc")


def test_the_noise_limit_is_carried_to_a_narrower_band_at_equal_density():
    limits = Limits(noise_uv=2.0)
    assert limits.noise_in_band(*FULL_BAND_HZ) == 2.0
    quarter = (FULL_BAND_HZ[1] - FULL_BAND_HZ[0]) / 4
    assert limits.noise_in_band(20.0, 20.0 + quarter) == pytest.approx(1.0)
    assert judged_band_hz(1000.0) == (20.0, 400.0) and judged_band_hz(4096.0) == FULL_BAND_HZ
    assert limits.noise_in_words(*FULL_BAND_HZ) == "2.00 uV over the whole band"
    narrower = limits.noise_in_words(*judged_band_hz(1000.0))
    assert narrower == "2.00 uV over the whole band is 1.88 uV over 20 to 400 Hz"


@pytest.mark.parametrize("name", ["noise_uv", "battery_v", "sag_v", "hum_uv"])
@pytest.mark.parametrize("value", [0.0, -1.0, float("nan"), float("inf")])
def test_a_limit_is_a_number_above_zero(name, value):
    with pytest.raises(ValueError, match=f"{name} is .* a number above zero"):
        Limits(**{name: value})


def test_a_meter_is_wrong_by_a_share_and_by_digits():
    assert Meter(percent=0.5, digits=2, digit_v=0.01).half_width(2.51) == pytest.approx(0.03255)
