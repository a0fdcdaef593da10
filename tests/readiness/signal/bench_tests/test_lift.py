"""Lift: each lead shows itself when it leaves the bar, and a moving cable does not."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import butter, sosfilt

from readiness.signal.kit import kit_verdict
from readiness.signal.score import score_capture
from readiness.signal.simulator.captures import Fault
from tests.readiness.signal.made import capture_of, codes, model_capture, quiet, results


@pytest.mark.parametrize(
    ("pair", "expected"), [("A+B", None), ("A+ground", "A"), ("B+ground", "B")]
)
def test_shorted_leads_do_not_react_when_lifted(pair, expected):
    found = results(Fault("leads_shorted", 0.01, pair))
    assert found["still"].verdict == "fit"
    assert ("leads_shorted", expected) in codes(found["lift"])
    assert kit_verdict(found).verdict == "not fit"


@pytest.mark.parametrize("rate", [512.0, 1024.0, 4096.0])
def test_a_moving_cable_proves_no_lead(rate):
    """Leads shorted in the cable: all that lifting does is move it, here with a corner of 10 Hz and
    12 dB an octave.
    """
    low_pass = butter(2, 10.0, fs=rate, output="sos")
    ramp = np.clip((np.arange(int(10 * rate)) / rate - 2.5) / 0.2, 0, 1)
    for seed in range(10):
        rng = np.random.default_rng((seed, int(rate)))
        slow = sosfilt(low_pass, rng.normal(size=len(ramp)))
        result = score_capture(
            capture_of(quiet(rng, 1.0, rate) + 60 * ramp * slow / slow.std(), "lift", rate=rate)
        )
        assert (result.verdict, result.proven) == ("not fit", ())
        assert {code for code, _ in codes(result)} == {"leads_shorted"}


def test_a_ground_that_answers_in_an_active_leads_place_is_told_however_it_came_there():
    """Lifted there or plugged there: one capture looks the same. A and B in each other's place show
    nothing and harm nothing.
    """
    with_ground = score_capture(model_capture("lift", Fault("wrong_order"), seed=0))
    assert codes(with_ground) == {("wrong_order", "B")}
    assert with_ground.verdict == "retest"
    among_actives = score_capture(model_capture("lift", Fault("wrong_order"), seed=1))
    assert among_actives.verdict == "fit"


@pytest.mark.parametrize("lead", ["A", "B"])
def test_a_ground_in_an_active_leads_socket_shows(lead):
    found = results(Fault("swapped_sockets", 1.0, f"{lead}+ground"))
    assert ("wrong_order", lead) in codes(found["lift"])
    assert "plugs" in found["lift"].findings[0].action
    assert kit_verdict(found).verdict == "retest"
