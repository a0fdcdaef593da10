"""Battery voltage under load: end, sag, chemistry and the meter."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.bench_tests.battery import judge_battery
from readiness.signal.bench_tests.judge_battery import battery_findings
from readiness.signal.limits import Limits


def verdicts(readings, limits=None):
    found, score, _ = battery_findings(readings, limits or Limits())
    return {(item.code, item.verdict) for item in found}, score


def test_the_sag_is_what_the_voltage_fell_by():
    falling = judge_battery(np.linspace(3.0, 2.7, 1000), Limits())
    assert falling.sag_v == pytest.approx(0.27, abs=0.01)
    assert falling.steady < 0.05 < judge_battery(np.linspace(3.0, 2.97, 1000), Limits()).steady


def test_one_reading_has_an_end_and_no_sag():
    battery = judge_battery(np.array([2.6]), Limits())
    assert (battery.sag_v, battery.steady) == (None, 1.0)
    assert battery.low_v < 2.6 == battery.end_v < battery.high_v
