"""The catalogues of what students read, and the language that is spoken at the moment.

A language is one file, ``locale/<language>/LC_MESSAGES/django.po``; Babel reads it at first use, so
that nothing has to be compiled beforehand. Where nobody says otherwise English is spoken. Pure; no
Django.
"""

from __future__ import annotations

import gettext as gettext_files
import io
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import lru_cache
from pathlib import Path

from babel import Locale
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

from rentals.languages import USUAL_LANGUAGE, base_language, known_locale

#: Where the catalogues are.
FOLDER = Path(__file__).resolve().parent / "locale"
#: How the desk itself writes dates and sums.
USUAL_LOCALE = "en-gb"
_PLACE = Path("LC_MESSAGES") / "django.po"

_spoken: ContextVar[str] = ContextVar("spoken", default=USUAL_LOCALE)


def languages_at_hand() -> tuple[str, ...]:
    """The code of every language that students can read: English, and one for each catalogue."""
    return _found_in(FOLDER)


def catalogue_path(language: str) -> Path:
    """The file of a language's words, whether it is there or not: ``de``, ``pt-br``."""
    base, _, kind = language.partition("-")
    kind = kind.upper() if len(kind) == 2 else kind.capitalize()
    return FOLDER / (f"{base}_{kind}" if kind else base) / _PLACE


def worded_as(code: str) -> str:
    """The language at hand whose words serve a code: ``de`` for ``de-at``; empty for none."""
    code, at_hand = code.lower().replace("_", "-"), languages_at_hand()
    return next((name for name in (code, base_language(code)) if name in at_hand), "")


def catalogue(code: str) -> gettext_files.NullTranslations:
    """The words of a language; English ones for a language without a catalogue."""
    language = worded_as(code)
    if language in ("", USUAL_LANGUAGE):
        return gettext_files.NullTranslations()
    return _read(catalogue_path(language), known_locale(language))


@contextmanager
def in_language(code: str) -> Iterator[None]:
    """Inside it `gettext` and `spoken_locale` are those of a language such as ``de-at``.

    Templates need `rentals.speaking.speaking`, which calls it.
    """
    spoken = _spoken.set(USUAL_LOCALE if code == USUAL_LANGUAGE else code)
    try:
        yield
    finally:
        _spoken.reset(spoken)


def spoken_locale() -> str:
    """The locale that dates, numbers and sums are written in now, such as ``de-at``."""
    return _spoken.get()


def gettext(text: str) -> str:
    """A sentence in the language that is spoken now."""
    return catalogue(spoken_locale()).gettext(text)


def ngettext(singular: str, plural: str, number: int) -> str:
    """A sentence with a number in it, in the form that the spoken language has for that number."""
    return catalogue(spoken_locale()).ngettext(singular, plural, number)


def gettext_noop(text: str) -> str:
    """The text as it is: it marks words that `gettext` is given later."""
    return text


@lru_cache(maxsize=10)
def _found_in(folder: Path) -> tuple[str, ...]:
    files = folder.glob(f"*/{_PLACE.as_posix()}")
    translated = {path.parent.parent.name.lower().replace("_", "-") for path in files}
    return tuple(sorted({USUAL_LANGUAGE, *translated}))


@lru_cache(maxsize=50)
def _read(path: Path, locale: Locale) -> gettext_files.GNUTranslations:
    with path.open("rb") as written:
        read = read_po(written, locale=locale)
    compiled = io.BytesIO()
    write_mo(compiled, read)
    compiled.seek(0)
    return gettext_files.GNUTranslations(compiled)
