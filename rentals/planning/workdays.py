"""Working days: no Saturday or Sunday by the country's own weekend, no public holiday. No Django
here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
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
    return day.weekday() not in _weekend(country) and not holiday_name(day, country)


def _weekend(country: str) -> set[int]:
    """The country's days of rest, Monday being 0."""
    calendar = _calendar(country)
    return calendar.weekend if calendar is not None else {5, 6}


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


@dataclass(frozen=True)
class Workdays:
    """The days on which work goes on in a country; with `also`, only those that are working days
    there too, as for a parcel on its way. Both are ISO 3166-1 alpha-2; empty for one not known.
    """

    country: str = ""
    also: str = ""

    def is_working(self, day: date) -> bool:
        """Whether work goes on."""
        there = not self.also or is_working_day(day, self.also)
        return there and is_working_day(day, self.country)

    def count_from(self, day: date, number: int) -> date:
        """The working day so many working days after (before, where negative) a day; 0 gives the
        day itself.
        """
        step = _ONE if number >= 0 else -_ONE
        left = abs(number)
        while left:
            day += step
            left -= self.is_working(day)
        return day

    def days_off(self, first: date, last: date) -> Iterator[date]:
        """The public holidays of both days and those between that take a working day away."""
        day = first
        while day <= last:
            if not self.is_working(day) and self._is_taken(day):
                yield day
            day += _ONE

    def _is_taken(self, day: date) -> bool:
        """Whether no weekend would have taken the day anyway."""
        countries = (self.country, self.also) if self.also else (self.country,)
        weekends = any(day.weekday() in _weekend(country) for country in countries)
        return not weekends
