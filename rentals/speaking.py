"""In which language a student is spoken to, on pages, in mails and on papers."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from weakref import WeakKeyDictionary

from django.conf import settings
from django.utils import translation
from django.utils.translation import trans_real

from rentals.catalogues import catalogue, in_language, languages_at_hand, worded_as
from rentals.languages import USUAL_LANGUAGE, known_locale
from rentals.models import Practice, Student

#: The translations of Django that know the words of our catalogue, and which it was.
_taught: WeakKeyDictionary[trans_real.DjangoTranslation, object] = WeakKeyDictionary()


def student_language(student: Student, practice: Practice | None = None) -> str:
    """The code of the language that a student reads, such as ``de-at``: their own, else that of the
    practice's mails, else English. Only a language that there is a catalogue of.
    """
    if worded_as(student.language):
        return student.language
    return language_read("", (practice or Practice.current()).mail_language)


def language_read(own: str, house: str) -> str:
    """The same of the codes alone: a student's own, and that of the practice's mails."""
    return next((code for code in (own, house) if worded_as(code)), USUAL_LANGUAGE)


def languages_to_choose() -> list[tuple[str, str]]:
    """Every language that a student can choose: its code and its name in that language itself."""
    names = ((code, known_locale(code).get_display_name(code)) for code in languages_at_hand())
    return [(code, name[:1].upper() + name[1:]) for code, name in names if name]


@contextmanager
def speaking(code: str) -> Iterator[None]:
    """Inside it templates, gettext, dates, numbers and money are those of a language.

    The desk's own screens are never drawn inside it.
    """
    language = settings.LANGUAGE_CODE if worded_as(code) in ("", USUAL_LANGUAGE) else code
    _teach(language)
    with in_language(code), translation.override(language):
        yield


def _teach(language: str) -> None:
    """Give Django the words of our catalogue, above its own, once for each that it has read."""
    if language == settings.LANGUAGE_CODE:
        return
    words, theirs = catalogue(language), trans_real.translation(language)
    if _taught.get(theirs) is not words:
        theirs.merge(words)
        _taught[theirs] = words
