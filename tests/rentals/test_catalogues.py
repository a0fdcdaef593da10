"""The words of a language, and which one is spoken."""

from decimal import Decimal

import pytest

from rentals import catalogues
from rentals.catalogues import (
    catalogue_path,
    gettext,
    gettext_noop,
    in_language,
    languages_at_hand,
    ngettext,
    spoken_locale,
    worded_as,
)
from rentals.planning.money import money_text
from rentals.post.phrases import USUAL_PHRASES

pytestmark = pytest.mark.any_database

MADE_UP = """\
msgid ""
msgstr ""
"Content-Type: text/plain; charset=UTF-8\\n"
"Plural-Forms: nplurals=3; plural=(n==1 ? 0 : n<5 ? 1 : 2);\\n"

msgid "{part}, serial {serial}"
msgstr "{part} ({serial})"

msgid "%(count)s day"
msgid_plural "%(count)s days"
msgstr[0] "%(count)s den"
msgstr[1] "%(count)s dny"
msgstr[2] "%(count)s dní"
"""


@pytest.fixture
def own_catalogue(tmp_path, monkeypatch):
    """A folder of catalogues with one language in it that Kitdesk does not come with."""
    monkeypatch.setattr(catalogues, "FOLDER", tmp_path)
    path = catalogue_path("cs")
    path.parent.mkdir(parents=True)
    path.write_text(MADE_UP, encoding="utf-8")


def test_english_is_spoken_where_nobody_says_otherwise():
    assert spoken_locale() == "en-gb"
    assert gettext("no such sentence") == "no such sentence"
    assert [ngettext("day", "days", number) for number in (1, 2)] == ["day", "days"]


def test_a_language_is_spoken_inside_and_no_longer_after():
    serial = gettext_noop(USUAL_PHRASES["part_serial"])
    with in_language("de-at"):
        assert gettext(serial) == "{part}, Seriennummer {serial}"
        assert money_text(Decimal(12), "EUR", spoken_locale()) == "€\u00a012,00"
        with in_language("en"):
            assert gettext(serial) == serial
        assert spoken_locale() == "de-at"
    assert gettext(serial) == serial


def test_the_words_of_a_language_serve_its_countries_and_no_other_language():
    assert {"en", "de", "fr", "es"} <= set(languages_at_hand())
    assert worded_as("fr-ca") == "fr"
    assert worded_as("it") == worded_as("") == ""
    with in_language("it"):
        assert gettext("{part}, serial {serial}") == "{part}, serial {serial}"


def test_one_file_is_a_further_language(own_catalogue):
    assert languages_at_hand() == ("cs", "en")
    with in_language("cs"):
        assert gettext("{part}, serial {serial}") == "{part} ({serial})"
        forms = [ngettext("%(count)s day", "%(count)s days", number) for number in (1, 2, 7)]
    assert forms == ["%(count)s den", "%(count)s dny", "%(count)s dní"]
