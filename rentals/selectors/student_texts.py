"""The texts of the student's page as they stand: the owner's own words before the usual ones."""

from __future__ import annotations

from rentals.catalogues import worded_as
from rentals.languages import USUAL_LANGUAGE, base_language
from rentals.models import StudentText
from rentals.speaking import speaking
from rentals.student_texts import USUAL_TEXTS


def student_words(prefix: str, language: str) -> dict[str, str]:
    """Every text whose key begins so, in a language such as ``de-at``: the owner's words in it, in
    its base language, else the usual ones. One query.
    """
    own = _own_words(prefix, (language, base_language(language)))
    with speaking(language):
        usual = {key: str(text) for key, text in USUAL_TEXTS.items() if key.startswith(prefix)}
    return {
        key: own.get((key, language)) or own.get((key, base_language(language))) or words
        for key, words in usual.items()
    }


def _own_words(prefix: str, languages: tuple[str, ...]) -> dict[tuple[str, str], str]:
    rows = StudentText.objects.filter(key__startswith=prefix, language__in=set(languages))
    return {
        (key, language): body for key, language, body in rows.values_list("key", "language", "body")
    }


def usual_student_words(key: str, language: str) -> str:
    """The words that Kitdesk comes with; English ones in a language that it has none of."""
    with speaking(language if worded_as(language) else USUAL_LANGUAGE):
        return str(USUAL_TEXTS[key])


def own_text(key: str, language: str) -> StudentText | None:
    """The owner's own words of one text in one language."""
    return StudentText.objects.filter(key=key, language=language).first()


def own_languages() -> dict[str, set[str]]:
    """The languages in which each text has words of the owner's."""
    found: dict[str, set[str]] = {}
    for key, language in StudentText.objects.values_list("key", "language"):
        found.setdefault(key, set()).add(language)
    return found
