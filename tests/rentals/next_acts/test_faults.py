"""What is next with a fault report."""

import pytest

from rentals.next_acts import FAULT_ACTS, may_answer
from rentals.states import FaultState

pytestmark = pytest.mark.any_database


def test_a_report_is_answered_then_closed_then_stands():
    acts = [FAULT_ACTS[state].here for state in FaultState]
    assert [act and act.act for act in acts] == ["Answer the student", "Close the report", None]
    assert [may_answer(state) for state in FaultState] == [True, True, False]
