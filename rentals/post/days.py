"""Working days: no Saturday or Sunday by the country's own weekend, no public holiday. No Django
here.
"""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache

import holidays

_ONE = timedelta(days=1)


@cache
def _calendar(country: str) -> holidays.HolidayBase | None:
    """The country's public holidays; None where the library knows none."""
    try:
        return holidays.country_holidays(country, language="en_US") if country else None
    except NotImplementedError:
        return None


def holiday_name(day: date, country: str) -> str:
    """The public holiday on a day in a country (ISO 3166-1 alpha-2); empty where there is none."""
    calendar = _calendar(country)
    return (calendar.get(day) or "") if calendar is not None else ""


def is_working_day(day: date, country: str) -> bool:
    """Whether people work on a day; without a known country Monday to Friday."""
    calendar = _calendar(country)
    weekend = calendar.weekend if calendar is not None else {5, 6}
    return day.weekday() not in weekend and not holiday_name(day, country)


def working_day_on_or_before(day: date, country: str) -> date:
    """The day itself, or the last working day before it."""
    while not is_working_day(day, country):
        day -= _ONE
    return day


def working_day_on_or_after(day: date, country: str) -> date:
    """The day itself, or the next working day."""
    while not is_working_day(day, country):
        day += _ONE
    return day


def working_days_from(day: date, number: int, country: str) -> date:
    """The working day so many working days after (before, where negative) a day."""
    step = _ONE if number >= 0 else -_ONE
    left = abs(number)
    while left:
        day += step
        if is_working_day(day, country):
            left -= 1
    return day
