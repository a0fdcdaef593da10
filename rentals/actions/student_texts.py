"""Keeping the owner's own words for the student's page."""

from __future__ import annotations

from rentals import transaction
from rentals.catalogues import languages_at_hand
from rentals.errors import Refused
from rentals.models import StudentText
from rentals.student_texts import USUAL_TEXTS


@transaction.atomic
def save_student_text(key: str, language: str, body: str) -> StudentText:
    """Keep the owner's words of one text in one language.

    Raises
    ------
    Refused
        If there is no such text or language, or no words.
    """
    if key not in USUAL_TEXTS:
        raise Refused("There is no such text on the student's page.")
    if language not in languages_at_hand():
        raise Refused("Students cannot choose this language.", field="language")
    if not body.strip():
        raise Refused("Write something, or go back to the usual words.", field="body")
    words = {"body": "\n".join(line.rstrip() for line in body.strip().splitlines())}
    text, _ = StudentText.objects.update_or_create(key=key, language=language, defaults=words)
    return text


@transaction.atomic
def drop_student_text(key: str, language: str) -> None:
    """Go back to the words that Kitdesk came with. Safe to repeat."""
    StudentText.objects.filter(key=key, language=language).delete()
