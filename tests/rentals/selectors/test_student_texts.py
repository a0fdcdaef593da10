"""Which words stand on the student's page."""

import pytest

from rentals.actions.student_texts import save_student_text
from rentals.selectors.student_texts import (
    own_languages,
    own_text,
    student_words,
    usual_student_words,
)

pytestmark = pytest.mark.django_db


def test_the_owners_words_come_first_in_their_language_and_its_kinds():
    save_student_text("page.care", "de", "Pfleglich behandeln.")
    save_student_text("page.leads", "en", "Plug them in.")
    english, german = student_words("page.", "en"), student_words("page.", "de-at")
    assert english["page.leads"] == "Plug them in."
    assert english["page.care"] == usual_student_words("page.care", "en")
    assert german["page.care"] == "Pfleglich behandeln."
    assert german["page.leads"] == usual_student_words("page.leads", "de")
    assert own_languages() == {"page.care": {"de"}, "page.leads": {"en"}}
    assert own_text("page.care", "en") is None


def test_one_query_for_a_whole_page(django_assert_num_queries):
    with django_assert_num_queries(1):
        words = student_words("page.", "fr")
    assert len(words) > 5 and all(key.startswith("page.") for key in words)


def test_a_language_without_words_reads_english():
    assert usual_student_words("page.care", "tlh") == usual_student_words("page.care", "en")
