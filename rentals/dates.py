"""How a day and a time are written on every screen, paper and mail: day, month in letters, year, in
the order and the words of the reader's language. Pure; by CLDR through Babel.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta

from babel import Locale
from babel.dates import format_date, format_datetime, format_timedelta

_WEEKS_FROM = 2
"""A unit larger than days is taken from two of it on: 13 days, then 2 weeks."""


def long_date(day: date, locale: str | Locale = "en") -> str:
    """A date in a sentence, such as ``12 March 2027``."""
    return format_date(day, "d MMMM y", locale=locale)


def weekday_date(day: date, locale: str | Locale = "en") -> str:
    """A date to act on, such as ``Friday 12 March 2027``."""
    return format_date(day, "EEEE d MMMM y", locale=locale)


def short_date(day: date, locale: str | Locale = "en") -> str:
    """A date in a column or a list, such as ``31 Oct 2027``."""
    return format_date(day, "d MMM y", locale=locale)


def month_and_year(day: date, locale: str | Locale = "en") -> str:
    """The month of a day, such as ``March 2027``."""
    return format_date(day, "MMMM y", locale=locale)


def short_moment(moment: datetime, locale: str | Locale = "en") -> str:
    """A date with its time of day, such as ``31 Oct 2027, 14:05``, in the zone of `moment`."""
    return format_datetime(moment, "d MMM y, HH:mm", locale=locale)


def how_far(span: timedelta, locale: str | Locale = "en") -> str:
    """How far off something is, in the unit that tells: ``5 hours ago``, ``in 13 days``,
    ``3 weeks ago``.
    """
    within_days = abs(span) >= timedelta(days=1)
    return format_timedelta(
        span,
        granularity="day" if within_days else "minute",
        threshold=_WEEKS_FROM if within_days else 1,
        add_direction=True,
        locale=locale,
    )
