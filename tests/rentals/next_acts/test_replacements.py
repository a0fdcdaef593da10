"""What is next with a replacement, from promise to the end."""

import pytest

from rentals.next_acts import ReplacementSituation, replacement_act

pytestmark = pytest.mark.any_database


@pytest.mark.parametrize(
    ("facts", "act", "reason"),
    [
        ({}, "Pack and send it", ""),
        ({"cancelled": True}, "", "It did not go out."),
        ({"sent": True, "alone": True}, "The faulty one is here", ""),
        ({"sent": True}, "", "Sent; both come back with the kit."),
        ({"sent": True, "alone": True, "faulty_back": True}, "", "Sent; the faulty one is here."),
        ({"sent": True, "alone": True, "away": False}, "", "Sent; see the check."),
    ],
)
def test_each_situation_has_its_act_or_its_reason(facts, act, reason):
    step = replacement_act(ReplacementSituation(**({"away": True} | facts)))
    assert (step.here.act if step.here else "", step.reason) == (act, reason)
