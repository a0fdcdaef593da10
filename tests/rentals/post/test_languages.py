"""Which language a mail is written in."""

import pytest

from rentals.post.languages import choose_language, locale_for, why_language

pytestmark = pytest.mark.any_database


@pytest.mark.parametrize(
    ("student", "practice", "written", "used"),
    [
        ("de", "en", ["de"], "de"),
        ("de-at", "en", ["de"], "de"),
        ("de", "en", ["de-at", "de-ch"], "de-at"),
        ("pl", "de", ["de"], "de"),
        ("pl", "nl", ["de"], "en"),
        ("fr-ca", "de", ["de"], "fr"),
        ("", "es", ["en"], "es"),
        ("pl", "", ["en"], "en"),
        ("", "de", ["de"], "de"),
        ("en-us", "de", ["de"], "en"),
        ("", "", [], "en"),
    ],
)
def test_the_students_language_else_the_practices_else_the_usual_one(
    student, practice, written, used
):
    assert choose_language(student, practice, written) == used


def test_dates_and_sums_follow_the_country_of_who_reads_them():
    assert locale_for("de", "de-at", "en-gb") == "de-at"
    assert locale_for("en", "", "en-gb") == "en-gb"
    assert locale_for("en", "pl", "en-gb") == "en-gb"
    assert locale_for("de", "pl", "en-gb") == "de"


def test_the_page_says_which_and_why():
    assert why_language("de", "de-at") == "German, the student’s language."
    assert "no language is noted" in why_language("en", "")
    assert "there is no wording in Polish" in why_language("en", "pl")
