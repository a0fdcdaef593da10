"""Dates, masses and cautions in the words of the paper."""

from __future__ import annotations

from datetime import date

import pytest

from rentals.paper.words import (
    TRANSPORT,
    in_a_column,
    mass_on_paper,
    on_paper,
    transport_caution,
)

DAY = date(2027, 3, 12)


def test_a_day_is_written_in_words_and_no_day_is_nothing():
    assert on_paper(DAY) == "12 March 2027"
    assert on_paper(DAY, weekday=True) == "Friday 12 March 2027"
    assert on_paper(None) == ""
    assert "März" in on_paper(DAY, "de")
    assert in_a_column(date(2027, 10, 31)) == "31 Oct 2027"


@pytest.mark.parametrize(
    ("grams", "locale", "words"),
    [(0, "en", "0 g"), (999, "en", "999 g"), (1000, "en", "1.000 kg"), (1234, "de", "1,234 kg")],
)
def test_a_mass_is_written_in_grams_until_it_is_a_kilogram(grams, locale, words):
    assert mass_on_paper(grams, locale) == words


def test_a_rule_made_elsewhere_names_its_source_and_the_day_it_was_checked():
    caution = transport_caution("de")
    assert TRANSPORT.source in caution
    assert on_paper(TRANSPORT.checked_on, "de") in caution
