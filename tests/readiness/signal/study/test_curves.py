"""The curves of a study as plain numbers, and drawn again the same."""

from __future__ import annotations

import json

import pytest

from readiness.signal.statistics.shares import Share
from readiness.signal.study import curves
from readiness.signal.study.counts import noise_power
from readiness.signal.study.curves import LeakPoint, NoisePoint, OpenPoint, open_curve, plain_curves


def test_curves_become_plain_numbers():
    opens = [OpenPoint("flex", "A", 0.05, Share(3, 4), Share(4, 4))]
    noise = [NoisePoint(1.0, Share(0, 4), Share(4, 4), noise_power(1.0, 7792))]
    leaks = [LeakPoint(30.0, Share(1, 4), Share(2, 4))]
    figures = json.loads(json.dumps(plain_curves(opens, noise, leaks)))
    [point], [level], [leak] = figures["opens"], figures["noise"], figures["leaks"]
    assert leak == {"kohm": 30.0, "total": 4, "not_fit": 0.25, "not_passed": 0.5}
    assert (point["lead"], point["not_fit"], point["not_passed"], point["total"]) == (
        "A",
        0.75,
        1.0,
        4,
    )
    assert level["theory_not_fit"] == pytest.approx(0.05)


def test_each_series_meets_every_duration_on_the_same_benches(monkeypatch):
    monkeypatch.setattr(curves, "DURATIONS_S", (0.001, 0.2))
    monkeypatch.setattr(curves, "OPEN_SERIES", (("flex", "B"),))
    short, long = open_curve(2, seed=3)
    assert (short.seconds, long.seconds) == (0.001, 0.2)
    assert (long.test, long.lead, long.not_passed) == ("flex", "B", Share(2, 2))
    assert short.not_passed.hits <= long.not_passed.hits
    assert open_curve(2, seed=3) == [short, long]
