"""Days and times as every screen, paper and mail writes them."""

from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from rentals import dates

DAY = date(2027, 3, 12)


@pytest.mark.parametrize(
    ("locale", "long", "weekday", "short"),
    [
        ("en", "12 March 2027", "Friday 12 March 2027", "12 Mar 2027"),
        ("de", "12. März 2027", "Freitag, 12. März 2027", "12. März 2027"),
        ("ja", "2027年3月12日", "2027年3月12日金曜日", "2027年3月12日"),
        ("fr", "12 mars 2027", "vendredi 12 mars 2027", "12 mars 2027"),
    ],
)
def test_a_day_is_written_in_the_readers_words(locale, long, weekday, short):
    assert dates.long_date(DAY, locale) == long
    assert dates.weekday_date(DAY, locale) == weekday
    assert dates.short_date(DAY, locale) == short


def test_french_writes_the_first_day_of_a_month_as_an_ordinal():
    first = date(2027, 3, 1)
    assert dates.long_date(first, "fr_CH") == "1er mars 2027"
    assert dates.weekday_date(first, "fr") == "lundi 1er mars 2027"
    assert dates.short_date(first, "fr") == "1er mars 2027"
    assert dates.long_date(first, "es") == "1 de marzo de 2027"


def test_a_day_in_a_rule_has_its_weekday_in_short():
    assert dates.short_weekday_date(DAY) == "Fri 12 Mar 2027"
    assert dates.short_weekday_date(DAY, "de") == "Fr., 12. März 2027"


def test_a_month_is_named_with_its_year():
    assert dates.month_and_year(DAY) == "March 2027"


def test_a_time_of_day_stands_behind_its_date():
    assert dates.short_moment(datetime(2027, 10, 31, 14, 5)) == "31 Oct 2027, 14:05"
    assert dates.short_moment(datetime(2027, 10, 31, 14, 5), "de") == "31. Okt. 2027, 14:05"


def test_one_instant_is_written_in_each_zone_by_its_own_clock():
    at = datetime(2027, 10, 31, 14, 5, tzinfo=UTC)
    there = at.astimezone(timezone(timedelta(hours=10)))
    assert at == there
    assert dates.short_moment(at) == "31 Oct 2027, 14:05"
    assert dates.short_moment(there) == "1 Nov 2027, 00:05"


@pytest.mark.parametrize(
    ("span", "words"),
    [
        (timedelta(days=1), "in 1 day"),
        (timedelta(days=-13), "13 days ago"),
        (timedelta(days=-21), "3 weeks ago"),
        (timedelta(days=70), "in 2 months"),
        (timedelta(hours=-5), "5 hours ago"),
        (timedelta(minutes=-12), "12 minutes ago"),
    ],
)
def test_a_span_is_told_in_the_unit_that_tells(span, words):
    assert dates.how_far(span) == words


@pytest.mark.parametrize(
    ("days", "locale", "words"),
    [
        (0, "en_GB", "today"),
        (1, "en", "tomorrow"),
        (-1, "de_AT", "gestern"),
        (5, "en", "in 5 days"),
        (-40, "en", "40 days ago"),
        (21, "de", "in 21 Tagen"),
        (-5, "pl", "5 dni temu"),
        (1, "ja", "1 日後"),
    ],
)
def test_a_mail_counts_the_days_in_its_language(days, locale, words):
    assert dates.days_off(DAY + timedelta(days), DAY, locale) == words
