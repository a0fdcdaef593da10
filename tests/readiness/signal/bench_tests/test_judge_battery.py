"""Battery readings as findings and a score."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.bench_tests.battery import judge_battery
from readiness.signal.bench_tests.judge_battery import battery_findings
from readiness.signal.limits import Limits


def verdicts(readings, limits=None):
    found, score, _ = battery_findings(readings, limits or Limits())
    return {(item.code, item.verdict) for item in found}, score


@pytest.mark.parametrize(
    ("volts", "expected", "score"),
    [
        (2.90, set(), 100.0),
        (2.54, set(), 100.0),
        (2.51, {("battery_low", "retest")}, 65.4),
        (2.48, {("battery_low", "retest")}, 19.2),
        (2.46, {("battery_low", "not fit")}, 0.0),
    ],
)
def test_end_voltage_with_the_meters_half_percent_and_two_digits(volts, expected, score):
    """Meter +-(0.5 % + 2 digits), rectangular: at 2.51 V +-32.6 mV, so (32.6 + 10) / 65.1 of it is
    above the limit.
    """
    assert verdicts(np.array([volts])) == (expected, pytest.approx(score, abs=0.15))


def test_a_nimh_pack_above_its_end_of_charge_is_never_a_plain_pass():
    """2.95 V exceeds the 2.90 V of a charged pair (maker's sheet): wrong chemistry, or just off the
    charger.
    """
    assert ("wrong_scale", "retest") in verdicts(np.array([2.98]), Limits(chemistry="nimh"))[0]


def test_sag_within_the_capture():
    falling = np.linspace(3.0, 2.7, 1000)
    assert ("battery_sagging", "not fit") in verdicts(falling)[0]
    assert verdicts(np.linspace(3.0, 2.97, 1000)) == (set(), 100.0)
    assert judge_battery(falling, Limits()).sag_v == pytest.approx(0.27, abs=0.01)


@pytest.mark.parametrize(
    "readings", [None, np.array([]), np.array([np.nan]), np.array([0.0]), np.array([2900.0])]
)
def test_no_reading_that_can_be_a_voltage(readings):
    found, score = verdicts(readings)
    assert (found, score) == ({("battery_missing", "retest")}, None)
