"""Which wording a mail has, in which language, and whether it is drafted by itself."""

import pytest

from rentals.models import MailWording, Message
from rentals.post.phrases import PHRASES
from rentals.post.usual_wording import USUAL
from rentals.post.wording import Wording
from rentals.selectors.wordings import (
    BY_ITSELF,
    usual_words,
    wordings_of,
    wordings_written,
)

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("occasion", Message.Occasion.values)
def test_without_an_own_wording_the_usual_one_counts(occasion):
    written = wordings_of(occasion)
    assert written.wording("en") == USUAL[occasion] == usual_words(occasion)
    assert written.by_itself == (occasion in BY_ITSELF) and written.languages == ()


def test_the_own_wording_of_a_language_comes_before_the_one_that_kitdesk_has():
    assert wordings_of("due_soon").wording("de").text.startswith("Guten Tag {student},")
    MailWording.objects.create(occasion="due_soon", language="en", subject="Soon", text="Hello")
    MailWording.objects.create(occasion="due_soon", language="fr", subject="Bientôt", text="Salut")
    written = wordings_of("due_soon")
    assert written.wording("fr").text == "Salut"
    assert written.wording("de-at") == usual_words("due_soon", "de")
    assert written.wording("it").text.startswith("Dear {student},")


@pytest.mark.parametrize("by_itself", [True, False])
def test_an_own_wording_says_whether_it_is_drafted(by_itself):
    facts = {"subject": "Ended", "text": "Dear {student}", "drafted_by_itself": by_itself}
    MailWording.objects.create(occasion="statement", **facts)
    written = wordings_of("statement")
    assert written.wording("en") == Wording("Ended", "Dear {student}")
    assert written.by_itself == by_itself and written.own("en")


def test_every_language_has_its_own_and_phrases_come_along(django_assert_num_queries):
    MailWording.objects.create(
        occasion="shortfall", language="de", subject="Zurück", text="Hallo {student}"
    )
    MailWording.objects.create(occasion="missing_part", language="de", text="{part} fehlt.")
    with django_assert_num_queries(1):
        written = wordings_of("shortfall")
        assert written.languages == ("de",) and written.own("en") is None
        assert written.wording("de").subject == "Zurück"
        assert written.wording("en") == USUAL["shortfall"]
        assert written.phrases("de") == {"missing_part": "{part} fehlt."}
    with django_assert_num_queries(1):
        everything = wordings_written()
    assert everything["missing_part"].languages == ("de",)
    assert "{part}" in usual_words("missing_part").text


def test_every_phrase_has_its_row_and_its_words():
    assert set(MailWording.Phrase.values) == set(PHRASES)
