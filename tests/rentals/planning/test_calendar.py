"""The days of the plan, each with the rule that made it."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rentals.planning.calendar import (
    Margins,
    Transit,
    Turnaround,
    back_by,
    free_again,
    post_by,
)
from rentals.planning.workdays import Workdays

pytestmark = pytest.mark.any_database

GERMANY = Workdays("DE")


def test_a_parcel_is_posted_so_many_working_days_before_the_run() -> None:
    found = post_by(date(2026, 1, 5), Transit(2, 3, "Germany"), Margins(spare=1), GERMANY)
    # Backwards from Monday the 5th: Friday the 2nd, Wednesday the 31st, Tuesday the 30th.
    assert found.day == date(2025, 12, 30)
    assert found.rule == (
        "3 working days before the run starts on Mon 5 Jan 2026: the post takes 2 to Germany and 1"
        " to spare; 1 Jan 2026 is a public holiday"
    )


def test_a_kit_is_due_back_after_the_days_to_post_it_and_the_way_back() -> None:
    found = back_by(date(2026, 4, 2), Transit(2, 3, "Spain"), Margins(to_send=1), GERMANY)
    # Thursday before Easter: Good Friday and Easter Monday are no working days.
    assert found.day == date(2026, 4, 10)
    assert found.rule == (
        "4 working days after the run ends on Thu 2 Apr 2026: 1 to post it, then the post takes 3"
        " from Spain; 3 Apr 2026 and 6 Apr 2026 are public holidays"
    )


def test_a_holiday_at_the_other_end_delays_a_parcel() -> None:
    both = Workdays("DE", also="ES")
    found = post_by(date(2026, 1, 8), Transit(2, 2, "Spain"), Margins(spare=0), both)
    # Epiphany, the 6th of January, is a holiday in Spain and in few states of Germany.
    assert found.day == date(2026, 1, 5)
    assert found.rule.endswith("the post takes 2 to Spain; 6 Jan 2026 is a public holiday")


def test_a_kit_is_free_again_when_every_step_has_had_its_days() -> None:
    steps = Turnaround(check=1, clean=1, charge=0, bench=2, restock=0)
    found = free_again(date(2026, 3, 19), steps, GERMANY)
    assert found.day == date(2026, 3, 25)
    assert found.rule == (
        "4 working days after it is back on Thu 19 Mar 2026: check 1, clean 1, bench 2"
    )


def test_without_a_turnaround_a_kit_is_free_the_day_it_is_back() -> None:
    found = free_again(date(2026, 3, 21), Turnaround(0, 0, 0, 0, 0), GERMANY)
    assert (found.day, found.rule) == (
        date(2026, 3, 21),
        "the day it is back: the turnaround takes no day",
    )


def test_many_holidays_are_counted_not_listed() -> None:
    rule = free_again(date(2026, 12, 23), Turnaround(bench=200), GERMANY).rule
    assert "; 25 Dec 2026, 1 Jan 2027, 26 Mar 2027 and " in rule
    assert rule.endswith(" more are public holidays")


@settings(max_examples=50, deadline=None)
@given(
    st.dates(date(2024, 1, 1), date(2030, 1, 1)),
    st.integers(0, 20),
    st.sampled_from(["DE", "US", "IL", "JP", ""]),
)
def test_as_many_working_days_lie_between_as_were_counted(start, number, country) -> None:
    workdays = Workdays(country)
    end = workdays.count_from(start, number)
    passed = [start + timedelta(days=step) for step in range(1, (end - start).days + 1)]
    assert sum(workdays.is_working(day) for day in passed) == number
    assert end == start or workdays.is_working(end)
