"""What the hands of the operator do, and what faults add to it."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.catalogue import CATALOGUE, LEADS
from readiness.signal.simulator.faults import Fault
from readiness.signal.simulator.parameters import Setup
from readiness.signal.simulator.script import POST_KOHM, Script, write_script


def script(test: str, *faults: Fault, seed: int = 1) -> Script:
    return write_script(CATALOGUE[test], Setup(), faults, np.random.default_rng(seed))


def test_each_test_is_done_as_its_instructions_say():
    still, flex, lift = script("still"), script("flex"), script("lift")
    assert not still.held and not any(still.open.values()) and not still.flexed
    assert set(flex.flexed) == set(LEADS) and not any(flex.open.values())
    assert set(lift.windows) == set(LEADS) and all(lift.open.values())
    assert script("ground").post_kohm == POST_KOHM
    worn = script("worn")
    assert worn.worn and worn.effort_s is not None


@pytest.mark.parametrize("lead", LEADS)
def test_an_open_lead_touches_the_bar_never_and_an_intermittent_one_not_while_it_is_bent(lead):
    assert script("still", Fault("open_lead", lead=lead)).open[lead] == [(-np.inf, np.inf)]
    fault = Fault("intermittent_lead", 0.05, lead, count=3)
    bent = script("flex", fault)
    start, end = bent.flexed[lead]
    assert bent.open[lead]
    assert all(start <= up < down <= end + 0.1 for up, down in bent.open[lead])
    assert not script("still", fault).open[lead]


def test_slips_of_the_operator_change_order_time_and_place():
    usual, swapped = script("lift"), script("lift", Fault("wrong_order"))
    assert list(swapped.windows) != list(usual.windows)
    early = script("lift", Fault("moved_too_early", 1.5))
    first = next(iter(usual.windows))
    assert early.windows[first][0] == pytest.approx(usual.windows[first][0] - 1.5, abs=0.5)
    assert set(script("still", Fault("moved_too_early", 1.0)).flexed) == set(LEADS)
    assert not script("still", Fault("not_on_bar")).on_bar
    assert script("still", Fault("worn_not_shorted")).worn
