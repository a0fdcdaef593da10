"""The words that students read: gathered from code and templates, and put into the catalogues."""

from __future__ import annotations

import re
from collections.abc import Iterator
from copy import deepcopy
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog, Message
from babel.messages.extract import DEFAULT_KEYWORDS, extract
from babel.messages.pofile import read_po, write_po
from django.conf import settings
from django.utils.translation.template import templatize

from rentals.catalogues import catalogue_path, languages_at_hand
from rentals.languages import USUAL_LANGUAGE, known_locale

ROOT = Path(settings.BASE_DIR)
#: Where words for students stand. All that is marked there is for them: the desk speaks English.
CODE = ("rentals", "readiness")
TEMPLATES = ("templates",)
#: A module that speaks to students takes its words from one of these; the desk's own plurals are
#: of the standard library's gettext, and stay English.
_SPEAKS = re.compile(r"from (rentals\.catalogues|django\.utils\.translation) import")
_HEADER = """\
# What students read. Brought up to date by `python3 manage.py words`.
msgid ""
msgstr ""
"Content-Type: text/plain; charset=UTF-8\\n"
"Content-Transfer-Encoding: 8bit\\n"
"Language: {language}\\n"
"Plural-Forms: {plurals}\\n"

"""
_LAZY = ("gettext", "ngettext", "pgettext", "npgettext")
_KEYWORDS = {
    **DEFAULT_KEYWORDS,
    **{f"{name}_lazy": DEFAULT_KEYWORDS[name] for name in _LAZY},
    "gettext_noop": None,
}
_WIDTH = 96


def students_words() -> Catalog:
    """Every marked sentence with the files it stands in, as a catalogue without translations."""
    gathered = Catalog(charset="utf-8")
    for folder in CODE:
        for path in sorted((ROOT / folder).rglob("*.py")):
            text = path.read_text(encoding="utf-8")
            if _SPEAKS.search(text):
                _gather(gathered, path, text)
    for folder in TEMPLATES:
        for path in sorted((ROOT / folder).rglob("*.html")):
            text = path.read_text(encoding="utf-8")
            if "translate" in text:
                _gather(gathered, path, _as_code(templatize(text, origin=str(path))))
    return gathered


def _as_code(template: str) -> str:
    """A template's words as lines of code: its indentation means nothing there."""
    return "\n".join(line.lstrip() for line in template.splitlines())


def read_catalogue(language: str) -> Catalog:
    """The catalogue of a language as it is written; an empty one where there is none yet."""
    path = catalogue_path(language)
    if not path.is_file():
        return Catalog(locale=known_locale(language), charset="utf-8")
    with path.open("rb") as written:
        return read_po(written, locale=known_locale(language))


def bring_up_to_date(language: str, words: Catalog) -> Catalog:
    """Write a language's catalogue with exactly these words; translations that still fit stay, and
    nothing is guessed.
    """
    catalogue = read_catalogue(language)
    # A catalogue keeps the messages that it is given: each language needs its own.
    catalogue.update(deepcopy(words), no_fuzzy_matching=True)
    path = catalogue_path(language)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(_as_text(catalogue))
    return catalogue


def translated_languages() -> tuple[str, ...]:
    """Every language that has a catalogue."""
    return tuple(code for code in languages_at_hand() if code != USUAL_LANGUAGE)


def untranslated(catalogue: Catalog) -> list[str]:
    """The sentences that are still to be translated, or to be looked at again."""
    return sorted(str(message.id) for message in catalogue if message.id and _lacks(message))


def _as_text(catalogue: Catalog) -> bytes:
    """The file of a catalogue; the same words give the same bytes."""
    text = BytesIO()
    header = _HEADER.format(language=catalogue.locale, plurals=catalogue.plural_forms)
    text.write(header.encode())
    write_po(
        text,
        catalogue,
        width=_WIDTH,
        omit_header=True,
        ignore_obsolete=True,
        include_lineno=False,
        sort_by_file=True,
    )
    return text.getvalue()


def _lacks(message: Message) -> bool:
    string = message.string or ""
    forms = [string] if isinstance(string, str) else list(string)
    return message.fuzzy or not all(forms)


def _gather(gathered: Catalog, path: Path, source: str) -> None:
    place = path.relative_to(ROOT).as_posix()
    for sentence, context in _sentences(source):
        gathered.add(sentence, locations=[(place, 1)], context=context)


def _sentences(source: str) -> Iterator[tuple[str | tuple[str, ...], str | None]]:
    for _, sentence, _, context in extract("python", BytesIO(source.encode()), _KEYWORDS):
        yield sentence, context
