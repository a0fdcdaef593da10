"""How a day and a time are written on every screen, paper and mail: day, month in letters, year, in
the order and the words of the reader's language. Pure; by CLDR through Babel.
"""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta
from functools import lru_cache

from babel import Locale
from babel.dates import format_date, format_datetime, format_skeleton, format_time, format_timedelta

_ALWAYS_DAYS = 10_000
#: Today, tomorrow and yesterday, as the languages say it (CLDR, which Babel does not hand out).
_NEAR = {
    "en": ("today", "tomorrow", "yesterday"),
    "de": ("heute", "morgen", "gestern"),
    "fr": ("aujourd’hui", "demain", "hier"),
    "es": ("hoy", "mañana", "ayer"),
    "it": ("oggi", "domani", "ieri"),
    "nl": ("vandaag", "morgen", "gisteren"),
    "pt": ("hoje", "amanhã", "ontem"),
    "pl": ("dzisiaj", "jutro", "wczoraj"),
    "cs": ("dnes", "zítra", "včera"),
    "sv": ("i dag", "i morgon", "i går"),
    "da": ("i dag", "i morgen", "i går"),
    "nb": ("i dag", "i morgen", "i går"),
    "fi": ("tänään", "huomenna", "eilen"),
}
_WEEKS_FROM = 2
"""A unit larger than days is taken from two of it on: 13 days, then 2 weeks."""
#: A list says the same days over and over; so many are kept as they were written.
_kept = lru_cache(maxsize=4000)


def long_date(day: date, locale: str | Locale = "en") -> str:
    """A date in a sentence, such as ``12 March 2027`` or ``12. März 2027``."""
    written = format_date(day, "d MMMM y" if _is_english(locale) else "long", locale=locale)
    return _first_of_month(written, day, locale)


@_kept
def weekday_date(day: date, locale: str | Locale = "en") -> str:
    """A date to act on, such as ``Friday 12 March 2027``."""
    written = format_date(day, "EEEE d MMMM y" if _is_english(locale) else "full", locale=locale)
    return _first_of_month(written, day, locale)


@_kept
def short_date(day: date, locale: str | Locale = "en") -> str:
    """A date in a column or a list, such as ``31 Oct 2027``."""
    if _is_english(locale):
        return format_date(day, "d MMM y", locale=locale)
    return _first_of_month(format_skeleton("yMMMd", day, locale=locale), day, locale)


def short_weekday_date(day: date, locale: str | Locale = "en") -> str:
    """A date in a rule, such as ``Mon 5 Jan 2026``."""
    if _is_english(locale):
        return format_date(day, "EEE d MMM y", locale=locale)
    return format_skeleton("yMMMEd", day, locale=locale)


def _is_english(locale: str | Locale) -> bool:
    """English is written one way everywhere here, day first; all others as they write it
    (CLDR).
    """
    return str(locale).startswith("en")


def _first_of_month(written: str, day: date, locale: str | Locale) -> str:
    """French writes the first day of a month as an ordinal; CLDR does not know it."""
    if day.day != 1 or not str(locale).startswith("fr"):
        return written
    return re.sub(r"\b1 ", "1er ", written, count=1)


def month_and_year(day: date, locale: str | Locale = "en") -> str:
    """The month of a day, such as ``March 2027``."""
    return format_date(day, "MMMM y", locale=locale)


def short_moment(moment: datetime, locale: str | Locale = "en") -> str:
    """A date with its time of day, such as ``31 Oct 2027, 14:05``, in the zone of `moment`."""
    # Without its zone: two that are the same instant are equal, and are written differently.
    return _moment_as_written(moment.replace(tzinfo=None), locale)


@_kept
def _moment_as_written(moment: datetime, locale: str | Locale) -> str:
    if _is_english(locale):
        return format_datetime(moment, "d MMM y, HH:mm", locale=locale)
    return (
        f"{short_date(moment.date(), locale)}, {format_time(moment.time(), 'short', locale=locale)}"
    )


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


def days_off(day: date, today: date, locale: str | Locale = "en") -> str:
    """How far off a day is: ``today``, ``tomorrow``, ``in 5 days``, ``yesterday``, ``3 days
    ago``. A mail to a student counts the days, never rounds them to weeks.
    """
    days = (day - today).days
    near = _NEAR.get(str(locale).replace("-", "_").partition("_")[0])
    if near and abs(days) <= 1:
        return near[days]
    return format_timedelta(
        timedelta(days=days),
        granularity="day",
        threshold=_ALWAYS_DAYS,
        add_direction=True,
        locale=locale,
    )
