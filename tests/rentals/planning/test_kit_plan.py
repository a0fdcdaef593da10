"""One kit in the plan: its stays, and what clashes."""

from datetime import date

import pytest

from rentals.planning.calendar import PlannedDay, Turnaround
from rentals.planning.day_rules import DayRules
from rentals.planning.kit_plan import ClashKind, Hold, Lending, kit_plan

pytestmark = pytest.mark.any_database
RULES = DayRules("DE", turnaround=Turnaround(1, 1, 1, 1, 1))
TODAY = date(2027, 3, 10)  # a Wednesday


def lending(
    who: str,
    posted: date,
    due: date,
    hold: Hold = Hold.AGREED,
    *,
    back_on: date | None = None,
    ready: bool = False,
) -> Lending:
    days = PlannedDay(posted), PlannedDay(due)
    return Lending(who, "Spring", f"/{who}/", hold, *days, back_on, ready)


def test_a_kit_is_turned_around_after_its_due_day() -> None:
    plan = kit_plan("K", [lending("Ada", date(2027, 3, 15), date(2027, 4, 30))], RULES, TODAY)
    (stay,) = plan.stays
    assert (stay.start, stay.back, stay.free.day) == (
        date(2027, 3, 15),
        date(2027, 4, 30),
        date(2027, 5, 10),  # Ascension, the 6th of May, is a holiday
    )
    assert plan.clashes == ()
    assert [name for name, _ in stay.days] == ["to be posted by", "due back", "free again"]


def test_a_kit_that_is_not_cleared_in_its_days_is_free_tomorrow_at_the_earliest() -> None:
    back = lending("Ada", date(2026, 12, 1), date(2027, 2, 1), Hold.BACK, back_on=date(2027, 2, 8))
    (stay,) = kit_plan("K", [back], RULES, TODAY).stays
    assert stay.free.day == date(2027, 3, 11)
    assert "was to end on Mon 15 Feb 2027, and it is not cleared yet" in stay.free.rule
    assert stay.days[1] == ("back", PlannedDay(date(2027, 2, 8), "the day it came back"))


def test_an_overdue_kit_stays_away_until_today_and_is_said() -> None:
    overdue = lending("Ada", date(2027, 1, 4), date(2027, 3, 5), Hold.AWAY)
    plan = kit_plan("K", [overdue], RULES, TODAY)
    assert plan.stays[0].back == TODAY
    assert plan.stays[0].days[2][0] == "free again at the earliest"
    (clash,) = plan.clashes
    assert (clash.kind, clash.short) == (ClashKind.OVERDUE, "5 days overdue")
    assert clash.words == "Due back on Fri 5 Mar 2027 and still away: 5 days overdue."


def test_a_parcel_that_should_have_gone_is_said() -> None:
    plan = kit_plan("K", [lending("Ada", date(2027, 3, 9), date(2027, 5, 5))], RULES, TODAY)
    assert [clash.short for clash in plan.clashes] == ["post 1 day late"]


def test_a_turnaround_that_runs_into_the_next_parcel_is_said_with_its_rule() -> None:
    back = lending("Ada", date(2027, 1, 4), date(2027, 3, 8), Hold.BACK, back_on=date(2027, 3, 9))
    after = lending("Ben", date(2027, 3, 12), date(2027, 5, 5))
    plan = kit_plan("K", [after, back], RULES, TODAY)
    assert [stay.lending.who for stay in plan.stays] == ["Ada", "Ben"]
    (clash,) = plan.clashes
    assert (clash.kind, clash.day, clash.short) == (
        ClashKind.OVERLAP,
        date(2027, 3, 12),
        "free 4 days late",
    )
    assert "to Ben is to be posted by Fri 12 Mar 2027" in clash.words
    assert "5 working days after it is back on Tue 9 Mar 2027" in clash.words


def test_a_kit_that_is_ready_or_went_again_needs_no_more_days() -> None:
    back = lending(
        "Ada", date(2027, 1, 4), date(2027, 3, 8), Hold.BACK, back_on=date(2027, 3, 9), ready=True
    )
    plan = kit_plan("K", [back, lending("Ben", TODAY, date(2027, 5, 5))], RULES, TODAY)
    assert plan.clashes == ()
    assert plan.stays[0].free.day == date(2027, 3, 9)


def test_what_is_over_clashes_with_nothing() -> None:
    first = lending("Ada", date(2027, 1, 4), date(2027, 2, 1), Hold.OVER, back_on=date(2027, 2, 1))
    second = lending("Ben", date(2027, 2, 2), date(2027, 3, 8), Hold.OVER, back_on=TODAY)
    assert kit_plan("K", [first, second], RULES, TODAY).clashes == ()
