"""The languages that dates and money are written in."""

from __future__ import annotations

import pytest

from rentals.languages import (
    base_language,
    is_right_to_left,
    known_locale,
    language_code,
    language_name,
    language_tag,
    offered_languages,
)


@pytest.mark.parametrize(
    ("name", "locale"),
    [("en-gb", "en_GB"), ("de_AT", "de_AT"), ("fr", "fr"), ("zh-hant", "zh_Hant")],
)
def test_a_language_is_known_by_either_way_of_writing_it(name, locale):
    assert str(known_locale(name)) == locale


@pytest.mark.parametrize("name", ["xx", "not a language", ""])
def test_a_language_that_is_none_is_written_in_english(name):
    assert str(known_locale(name)) == "en"


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("German", "de"),
        ("DEUTSCH", "de"),
        ("allemand", "de"),
        ("Français", "fr"),
        ("日本語", "ja"),
        ("de_AT", "de-at"),
        ("de-DE", "de"),
        ("pt-BR", "pt-br"),
        ("Klingon", ""),
        ("", ""),
    ],
)
def test_a_language_is_known_by_its_code_or_its_name(text, code):
    assert language_code(text) == code


def test_every_offered_language_has_a_name_and_is_known_by_its_code():
    assert all(name and language_code(code) == code for code, name in offered_languages())
    assert language_name("de-at") == "German (Austria)" and language_name("xx-yy") == "xx-yy"


def test_codes_as_headers_carry_them():
    assert [language_tag(code) for code in ("de", "de-at", "zh-hant")] == ["de", "de-AT", "zh-Hant"]
    assert base_language("pt-br") == "pt"
    assert is_right_to_left("he") and not is_right_to_left("de-at")
