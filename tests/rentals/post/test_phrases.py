"""Sentences that stand for a name of a wording."""

import pytest

from rentals.errors import Refused
from rentals.post.phrases import PHRASE_NAMES, PHRASES, USUAL_PHRASES, say
from rentals.post.wording import check_phrase

pytestmark = pytest.mark.any_database


def test_the_usual_phrases_pass_their_own_check():
    assert set(PHRASES) == set(USUAL_PHRASES)
    for text in USUAL_PHRASES.values():
        check_phrase(text, PHRASE_NAMES)


def test_a_phrase_leaves_out_what_stands_for_nothing():
    words = say({}, "missing_part", part="Gel", detail="", price="")
    assert words == ("Gel: missing. Please look for it and post it to us in a padded envelope.")


def test_an_own_phrase_goes_before_the_usual_one():
    phrases = {"missing_part": "{part} fehlt{detail}.\nErsatz: {price}."}
    words = say(phrases, "missing_part", part="Gel", detail=" (leer)", price="3 €")
    assert words == "Gel fehlt (leer). Ersatz: 3 €."


@pytest.mark.parametrize("text", ["", "{student} lost it", "a { brace"])
def test_what_cannot_be_used_is_refused(text):
    with pytest.raises(Refused):
        check_phrase(text, PHRASE_NAMES)
