"""The wording Kitdesk comes with."""

from __future__ import annotations

import re

import pytest

from rentals.models import Message
from rentals.post.usual_wording import USUAL, usual_wording
from rentals.post.wording import check_wording


def test_there_is_one_for_every_occasion_and_none_besides():
    assert set(USUAL) == set(Message.Occasion.values)


@pytest.mark.parametrize("occasion", Message.Occasion.values)
def test_the_usual_wording_passes_its_own_check(occasion):
    check_wording(USUAL[occasion])


@pytest.mark.parametrize("occasion", Message.Occasion.values)
def test_a_sentence_begins_with_a_capital_after_the_greeting_and_the_words_are_a_writer_s(occasion):
    greeting, _, first, *_ = USUAL[occasion].text.splitlines()
    assert greeting == "Dear {student},"
    assert first[0].isupper()
    text = USUAL[occasion].text.lower()
    for clumsy in ("answer this mail", "answer in", "answer with", "forget", "somebody", "say so"):
        assert clumsy not in text
    assert "  " not in text


def _names_line_by_line(text: str) -> list[list[str]]:
    """The names of each line: a line whose names all stand for nothing is left out."""
    return [sorted(re.findall(r"{\w+}", line)) for line in text.splitlines()]


@pytest.mark.parametrize("language", ["de", "fr", "es"])
@pytest.mark.parametrize("occasion", Message.Occasion.values)
def test_each_language_says_the_same_line_by_line(occasion, language):
    english, translated = USUAL[occasion], usual_wording(occasion, language)
    check_wording(translated)
    assert translated.subject != english.subject
    assert _names_line_by_line(translated.text) == _names_line_by_line(english.text)
    assert usual_wording(occasion, f"{language}-ch") == translated
    assert "  " not in translated.text and "..." not in translated.text
