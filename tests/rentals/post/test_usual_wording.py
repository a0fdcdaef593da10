"""The wording Kitdesk comes with."""

from __future__ import annotations

import pytest

from rentals.models import Message
from rentals.post.usual_wording import USUAL
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
