"""Flex: a cable that is bent shows a break by the lead it is in."""

from __future__ import annotations

import pytest

from readiness.signal.score import score_capture
from readiness.signal.simulator.captures import Fault
from tests.readiness.signal.made import codes, model_capture


@pytest.mark.parametrize(("lead", "ms"), [("A", 5), ("B", 20), ("A", 200)])
def test_an_intermittent_lead_is_named(lead, ms):
    flex = score_capture(
        model_capture("flex", Fault("intermittent_lead", ms / 1000, lead, count=4), seed=5)
    )
    assert flex.verdict == "not fit"
    assert codes(flex) == {("intermittent_lead", lead)}
    assert flex.events
