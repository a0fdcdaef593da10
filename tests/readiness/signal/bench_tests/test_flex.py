"""Flex: a cable that is bent shows a break by the lead it is in, and rubbing is none."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from readiness.signal.score import score_capture
from readiness.signal.simulator.captures import Fault
from tests.readiness.signal.made import codes, model_capture

pytestmark = pytest.mark.any_database


@pytest.mark.parametrize(("lead", "ms"), [("A", 5), ("B", 20), ("A", 200)])
def test_an_intermittent_lead_is_named(lead, ms):
    flex = score_capture(
        model_capture("flex", Fault("intermittent_lead", ms / 1000, lead, count=4), seed=5)
    )
    assert flex.verdict == "not fit"
    assert codes(flex) == {("intermittent_lead", lead)}
    assert flex.events


def with_spikes(*moments, uv=150.0):
    """A sound flex on which a cable rubs: charge torn apart and back within milliseconds."""
    capture = model_capture("flex", seed=4)
    x = capture.emg.samples.copy()
    for number, at in enumerate(moments):
        since = (np.arange(len(x)) / capture.rate_hz - at) / 0.002
        sign = -1 if number % 2 else 1
        x += sign * uv * since * np.exp(0.5 - 0.5 * since**2)
    emg = replace(capture.emg, samples=x)
    return replace(capture, emg=emg, channels=(emg,), moved=True)


def test_a_cable_that_rubs_is_no_lead_that_opens():
    flex = score_capture(with_spikes(2.9, 3.4, 4.1, 5.8, 6.6, 8.7))
    assert flex.verdict == "retest"
    assert codes(flex) == {("burst_noise", None)}
    assert "hang free" in flex.findings[0].action
    assert len(flex.events) >= 5


def test_spikes_of_the_grounds_window_alone_may_be_its_contact():
    flex = score_capture(with_spikes(8.3, 8.9, 9.4))
    assert flex.verdict == "retest"
    assert codes(flex) == {("intermittent_lead", "ground")}
    assert "ground test" in flex.findings[0].action


def test_a_lead_that_opens_while_another_is_bent_is_named_alone():
    capture = with_spikes(4.0, 6.9, 9.0)
    x = capture.emg.samples.copy()
    for at in (5.9, 6.4, 8.05):
        x[round(at * capture.rate_hz) :][:9] += 2500.0
    emg = replace(capture.emg, samples=x)
    flex = score_capture(replace(capture, emg=emg, channels=(emg,)))
    assert codes(flex) == {("intermittent_lead", "B")}
    assert "ground was bent" in flex.findings[0].text
