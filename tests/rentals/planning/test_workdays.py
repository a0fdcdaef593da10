"""Working days: the country's own weekend and its public holidays."""

from __future__ import annotations

from datetime import date

import pytest

from rentals.planning.workdays import (
    Workdays,
    holiday_name,
    is_working_day,
    working_day_on_or_after,
    working_day_on_or_before,
    working_days_from,
)


@pytest.mark.parametrize(
    ("day", "country", "name"),
    [
        # Federal holidays of Germany and England, as their governments publish them (from memory).
        (date(2026, 12, 25), "DE", True),
        (date(2026, 5, 1), "DE", True),
        (date(2026, 10, 3), "DE", True),
        (date(2027, 5, 6), "DE", True),  # Ascension: 39 days after Easter Sunday, 28 March 2027
        (date(2026, 5, 1), "GB", False),
        (date(2026, 12, 25), "", False),  # no country, no holidays known
    ],
)
def test_public_holidays_are_those_of_the_country(day, country, name):
    assert bool(holiday_name(day, country)) is name
    assert is_working_day(day, country) is (not name and day.weekday() < 5)


def test_weekends_are_those_of_the_country():
    friday, sunday = date(2026, 6, 12), date(2026, 6, 14)
    assert (is_working_day(friday, "DE"), is_working_day(sunday, "DE")) == (True, False)
    assert (is_working_day(friday, "IL"), is_working_day(sunday, "IL")) == (False, True)


def test_working_days_are_counted_over_weekends_and_holidays():
    # Christmas 2026 in Germany: Friday 25 and Saturday 26 December are holidays, the 24th is a
    # working day.
    assert working_days_from(date(2026, 12, 23), 1, "DE") == date(2026, 12, 24)
    assert working_days_from(date(2026, 12, 23), 2, "DE") == date(2026, 12, 28)
    assert working_days_from(date(2026, 12, 28), -2, "DE") == date(2026, 12, 23)
    assert working_day_on_or_before(date(2026, 12, 27), "DE") == date(2026, 12, 24)
    assert working_day_on_or_after(date(2026, 12, 25), "DE") == date(2026, 12, 28)


def test_days_off_are_holidays_that_no_weekend_takes_anyway():
    # 26 December 2026 is a holiday and a Saturday.
    found = list(Workdays("DE").days_off(date(2026, 12, 23), date(2027, 1, 4)))
    assert found == [date(2026, 12, 25), date(2027, 1, 1)]


def test_a_day_works_where_both_countries_work():
    both = Workdays("DE", also="IL")
    assert not both.is_working(date(2026, 6, 12))  # a Friday
    assert not both.is_working(date(2026, 6, 14))  # a Sunday
    assert both.count_from(date(2026, 6, 11), 1) == date(2026, 6, 15)
