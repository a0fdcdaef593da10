"""Which daily backups stay."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitdesk.backups.rotation import DAYS, MONTHS, WEEKS, days_to_keep

pytestmark = pytest.mark.any_database
FIRST = date(2025, 1, 1)


def _played(days: int, works=lambda day: True) -> set[date]:
    """What is left after so many days with a backup and a clearing on each that works."""
    kept: set[date] = set()
    for number in range(days):
        day = FIRST + timedelta(number)
        if works(day):
            kept = days_to_keep({*kept, day})
    return kept


def test_after_two_years_of_days_a_week_five_weeks_and_a_year_of_months_are_there():
    kept = sorted(_played(730), reverse=True)
    last = FIRST + timedelta(729)
    assert kept[:DAYS] == [last - timedelta(n) for n in range(DAYS)]
    sundays = [day for day in kept[:12] if day.isoweekday() == 7]
    assert len(sundays) >= WEEKS - 1
    months = {(day.year, day.month) for day in kept}
    assert len(months) == MONTHS
    ends = [day for day in kept if (day + timedelta(1)).day == 1]
    assert len(ends) >= MONTHS - 1
    assert len(kept) <= DAYS + WEEKS + MONTHS


def test_a_desk_that_was_off_for_a_year_loses_none_by_coming_back():
    before = _played(400)
    later = FIRST + timedelta(800)
    lost = before - days_to_keep({*before, later})
    assert len(lost) <= 3
    assert max(before) not in lost


@given(st.sets(st.integers(0, 800).map(lambda n: FIRST + timedelta(n)), max_size=60))
def test_the_newest_stays_and_keeping_twice_changes_nothing(days):
    kept = days_to_keep(days)
    assert kept <= days
    assert days_to_keep(kept) == kept
    assert not days or max(days) in kept
    assert len(kept) <= DAYS + WEEKS + MONTHS
