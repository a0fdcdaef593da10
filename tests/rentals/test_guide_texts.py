"""The words of help by symptom."""

import pytest

from rentals.guide_texts import GUIDE_TEXTS

pytestmark = pytest.mark.any_database


def test_titles_are_short_enough_for_a_phone_and_texts_are_whole_sentences():
    for key, words in GUIDE_TEXTS.items():
        text = str(words)
        if key.endswith(".title"):
            assert len(text) <= 40, key
        elif key.endswith(".question"):
            assert text.endswith("?"), key
        else:
            assert text.endswith("."), key
