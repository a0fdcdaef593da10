"""Keeping words of the owner's for the student's page."""

import pytest

from rentals.actions.student_texts import drop_student_text, save_student_text
from rentals.errors import Refused
from rentals.models import StudentText

pytestmark = pytest.mark.django_db


def test_words_are_kept_once_per_language_and_go_again():
    save_student_text("page.care", "de", "Eins")
    save_student_text("page.care", "de", "  Zwei  \n\n- drei  ")
    assert StudentText.objects.get().body == "Zwei\n\n- drei"
    drop_student_text("page.care", "de")
    drop_student_text("page.care", "de")
    assert not StudentText.objects.exists()


@pytest.mark.parametrize(
    ("key", "language", "body", "says"),
    [
        ("page.nothing", "en", "Words", "no such text"),
        ("page.care", "tlh", "Words", "cannot choose"),
        ("page.care", "en", "  \n ", "Write something"),
    ],
)
def test_what_cannot_be_kept_is_said(key, language, body, says):
    with pytest.raises(Refused, match=says):
        save_student_text(key, language, body)
