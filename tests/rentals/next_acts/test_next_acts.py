"""The table of next acts under every state and every combination of facts."""

from __future__ import annotations

import pytest

from rentals.next_acts import (
    FAULT_ACTS,
    KIT_ACTS,
    LOAN_ACTS,
    MESSAGE_ACTS,
    PART_ACTS,
    SHORTFALL_ACTS,
)
from rentals.states import (
    FaultState,
    KitState,
    LoanStage,
    MessageState,
    PartPlace,
    ShortfallState,
)

from .situations import all_answers


@pytest.mark.parametrize(
    ("table", "states"),
    [
        (KIT_ACTS, KitState),
        (LOAN_ACTS, LoanStage),
        (SHORTFALL_ACTS, ShortfallState),
        (MESSAGE_ACTS, MessageState),
        (PART_ACTS, PartPlace),
        (FAULT_ACTS, FaultState),
    ],
)
def test_every_state_has_a_row(table, states):
    assert set(table) == set(states)


def test_every_answer_is_an_act_or_a_reason_for_none():
    for answer in all_answers():
        assert (answer.here is None) == bool(answer.reason)
        assert answer.there.act and answer.there.route
