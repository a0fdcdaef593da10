"""All that a student reads stands in every catalogue, whole and as it is in the code today."""

import re
import string
from itertools import combinations

import pytest
from babel.messages.catalog import Catalog
from django.core.management import CommandError, call_command

from kitdesk.student_words import (
    read_catalogue,
    students_words,
    translated_languages,
    untranslated,
)
from rentals import catalogues
from tests.rentals.wrong_forms import wrong_forms

pytestmark = pytest.mark.any_database

LANGUAGES = translated_languages()
_NAMED = re.compile(r"{\w+}|%\(\w+\)s")
_PERCENT = re.compile(r"%\((\w+)\)s|%[sd]")


@pytest.fixture(scope="module")
def words() -> Catalog:
    return students_words()


def _forms(text) -> list[str]:
    return [text] if isinstance(text, str) else list(text)


def _places(text: str) -> set[str]:
    """What stands for something in a sentence: ``{student}``, ``%(count)s``."""
    braces = {f"{{{name}}}" for _, name, _, _ in string.Formatter().parse(text) if name}
    return braces | {found[0] for found in _PERCENT.finditer(text)}


def _ids(catalogue: Catalog) -> set[str]:
    return {f"{message.context or ''} {message.id}" for message in catalogue if message.id}


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_sentence_is_missing_empty_or_doubtful_and_none_is_left_over(words, language):
    catalogue = read_catalogue(language)
    assert sorted(_ids(words) - _ids(catalogue)) == [], "missing: run `manage.py words`"
    assert sorted(_ids(catalogue) - _ids(words)) == [], "stale: run `manage.py words`"
    assert untranslated(catalogue) == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_stands_for_something_stands_in_the_translation_too(language):
    differing = []
    for message in read_catalogue(language):
        source = set().union(*map(_places, _forms(message.id))) if message.id else set()
        always = set.intersection(*map(_places, _forms(message.id))) if message.id else set()
        for form in _forms(message.string) if message.id else []:
            if not always <= _places(form) <= source:
                differing.append((message.id, form))
    assert differing == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_translations_write_numbers_as_their_language_does(language):
    translated = (message for message in read_catalogue(language) if message.id)
    sentences = (form for message in translated for form in _forms(message.string))
    assert wrong_forms("\n".join(sentences), language) == []


def _long_forms(language: str) -> set[str]:
    """Translations of more than a word or two; names in them do not count."""
    forms = {form for message in read_catalogue(language) for form in _forms(message.string)}
    return {form for form in forms if len(_NAMED.sub("", form)) > 15}


def test_no_language_speaks_in_the_words_of_another():
    for one, another in combinations(LANGUAGES, 2):
        assert _long_forms(one) & _long_forms(another) == set(), (one, another)


def test_german_french_and_spanish_come_with_kitdesk():
    assert LANGUAGES == ("de", "es", "fr")


def test_the_command_begins_a_language_and_keeps_what_is_translated(
    words, tmp_path, monkeypatch, capsys
):
    monkeypatch.setattr(catalogues, "FOLDER", tmp_path)
    monkeypatch.setattr("kitdesk.management.commands.words.students_words", lambda: words)
    call_command("words", new="it")
    path = catalogues.catalogue_path("it")
    assert f"Italian: {len(words)} sentences to be translated" in capsys.readouterr().out
    text = path.read_text(encoding="utf-8")
    serial = 'msgid "{part}, serial {serial}"\nmsgstr "'
    assert serial in text
    path.write_text(text.replace(serial, serial + "{part} n. {serial}"), encoding="utf-8")
    call_command("words", new="it")
    assert f"{len(words) - 1} sentences to be translated" in capsys.readouterr().out
    assert serial + "{part} n. {serial}" in path.read_text(encoding="utf-8")
    assert [file.name for file in tmp_path.iterdir()] == ["it"]
    with pytest.raises(CommandError, match="no language known here"):
        call_command("words", new="klingonish")
