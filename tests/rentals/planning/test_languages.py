"""The languages that dates and money are written in."""

from __future__ import annotations

import pytest

from rentals.planning.languages import known_locale


@pytest.mark.parametrize(
    ("name", "locale"),
    [("en-gb", "en_GB"), ("de_AT", "de_AT"), ("fr", "fr"), ("zh-hant", "zh_Hant")],
)
def test_a_language_is_known_by_either_way_of_writing_it(name, locale):
    assert str(known_locale(name)) == locale


@pytest.mark.parametrize("name", ["xx", "not a language", ""])
def test_a_language_that_is_none_is_written_in_english(name):
    assert str(known_locale(name)) == "en"
