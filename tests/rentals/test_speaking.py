"""The language of a student, and a page drawn in it."""

import datetime as dt

import pytest
from django.template import Context, Template

from rentals import catalogues
from rentals.models import Practice
from rentals.speaking import languages_to_choose, speaking, student_language
from tests.factories import StudentFactory
from tests.rentals.test_catalogues import own_catalogue

__all__ = ["own_catalogue"]

PAGE = Template(
    "{% load desk i18n %}{% translate '{part}, serial {serial}' %}|{{ day|day }}|{{ day|weekday }}"
    "|{{ at|moment }}|{{ late|due:day }}|{{ soon|due:day }}|{{ day|ago:at }}"
    "|{{ 1240|grams }}|{{ 2.83|volts }}|{% money 1234.5 'EUR' %}|{{ 1.5 }}"
)


def _drawn() -> list[str]:
    day, at = dt.date(2027, 3, 12), dt.datetime(2027, 3, 12, 14, 5, tzinfo=dt.UTC)
    days = {"day": day, "late": day - dt.timedelta(days=1), "soon": day + dt.timedelta(days=3)}
    return PAGE.render(Context({**days, "at": at})).replace("\u202f", " ").split("|")


@pytest.mark.any_database
def test_a_page_is_in_the_language_with_its_dates_numbers_and_sums(settings):
    with speaking("de"):
        german = _drawn()
    with speaking("fr"):
        french = _drawn()
    assert german[0] == "{part}, Seriennummer {serial}"
    assert german[1:4] == ["12. März 2027", "Freitag, 12. März 2027", "12. März 2027, 14:05"]
    assert german[4:7] == ["seit 1 Tag überfällig", "fällig in 3 Tagen", "heute"]
    assert german[7:] == ["1,24 kg", "2,83 V", "1.234,50\u00a0€", "1,5"]
    assert french[2] == "vendredi 12 mars 2027"
    assert french[9] == "1 234,50\u00a0€"


@pytest.mark.any_database
def test_the_desk_itself_stays_english(settings):
    with speaking("es"):
        _drawn()
    english = ["{part}, serial {serial}", "12 Mar 2027", "Friday 12 March 2027"]
    far = ["12 Mar 2027, 14:05", "overdue by 1 day", "due in 3 days", "today"]
    figures = ["1.24 kg", "2.83 V", "€1,234.50", "1.5"]
    assert _drawn() == [*english, *far, *figures]
    with speaking("en"):
        assert _drawn() == [*english, *far, *figures]


@pytest.mark.any_database
def test_a_page_speaks_a_language_that_came_as_one_file(own_catalogue):
    with speaking("cs"):
        assert _drawn()[:2] == ["{part} ({serial})", "12. 3. 2027"]
    assert catalogues.languages_at_hand() == ("cs", "en")
    assert languages_to_choose() == [("cs", "Čeština"), ("en", "English")]


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("own", "house", "read"),
    [
        ("de", "fr", "de"),
        ("de-at", "fr", "de-at"),
        ("", "fr", "fr"),
        ("it", "fr-ch", "fr-ch"),
        ("it", "nl", "en"),
        ("en-us", "de", "en-us"),
    ],
)
def test_the_student_s_language_comes_first_then_the_practice_s(own, house, read):
    Practice.objects.create(pk=1, mail_language=house)
    assert student_language(StudentFactory.build(language=own)) == read
    assert (
        student_language(StudentFactory.build(language=own), Practice(mail_language=house)) == read
    )
