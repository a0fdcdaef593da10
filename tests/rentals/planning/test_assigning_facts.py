"""What a plan is asked, and how slack is weighed."""

import pytest

from rentals.planning.assigning_facts import (
    ENOUGH_SLACK_DAYS,
    AssignmentPlan,
    Level,
    LevelValue,
    Need,
    slack_lack,
)
from tests.rentals.planning.brute_force import day

pytestmark = pytest.mark.any_database


def test_two_days_are_rather_taken_from_two_hand_overs_than_from_one() -> None:
    enough = ENOUGH_SLACK_DAYS
    assert 2 * slack_lack(enough - 1) < slack_lack(enough - 2) + slack_lack(enough)
    assert slack_lack(enough) == slack_lack(enough + 9) == 0
    assert slack_lack(0) == slack_lack(-5) == enough * (enough + 1) // 2


def test_a_plan_is_proven_where_all_its_levels_are() -> None:
    rows = (LevelValue(Level.UNSERVED, 0), LevelValue(Level.LATE, 2, proven=False))
    plan = AssignmentPlan((), (), rows)
    assert plan.value(Level.LATE) == 2
    assert not plan.proven


def test_a_need_with_days_out_of_order_is_refused() -> None:
    with pytest.raises(ValueError, match="not in their order"):
        Need(1, 1, day(5), day(5), day(5))
