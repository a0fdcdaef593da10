"""The languages that mails, dates, numbers, money and countries are written in.

A language is kept as its code in small letters, with the country where that matters: ``de``,
``de-at``, ``pt-br``, ``zh-hant``.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache

from babel import localedata
from babel.core import Locale, UnknownLocaleError

#: The language of the wording that Kitdesk comes with.
USUAL_LANGUAGE = "en"
#: Kinds of a language that are written differently enough to have words of their own.
_KINDS = ("de-at", "de-ch", "en-gb", "en-us", "es-mx", "fr-ca", "fr-ch", "pt-br", "zh-hant")
#: The languages whose names people may write a language in.
_NAMED_IN = (
    *("en", "de", "fr", "es", "it", "nl", "pl", "pt", "sv", "da", "nb", "fi", "cs", "sk", "hu"),
    *("ro", "hr", "sl", "el", "tr", "ru", "uk", "he", "ar", "ja", "zh", "ko"),
)
_RIGHT_TO_LEFT = "right-to-left"


@lru_cache(maxsize=50)
def known_locale(name: str) -> Locale:
    """The locale of a name such as ``en-gb`` or ``de_AT``; English for one that is not known."""
    try:
        return Locale.parse(name, sep="-" if "-" in name else "_")
    except (UnknownLocaleError, ValueError):
        return Locale("en")


@lru_cache(maxsize=1)
def offered_languages() -> tuple[tuple[str, str], ...]:
    """Every language that can be chosen, with its name in English, by that name."""
    codes = {name for name in localedata.locale_identifiers() if len(name) == 2} | set(_KINDS)
    names = {code: language_name(code) for code in codes}
    return tuple(sorted(names.items(), key=lambda pair: pair[1]))


def language_name(code: str) -> str:
    """The name in English, as ``German`` or ``German (Austria)``; the code itself where it is
    none.
    """
    names = known_locale("en").languages
    if "-" not in code:
        return str(names.get(code, code))
    locale = known_locale(code)
    known = locale.language == base_language(code)
    return (locale.get_display_name("en") or code) if known else code


def language_code(text: str) -> str:
    """The code that a person means by a code or by a name in one of the usual languages; empty
    where none is known.
    """
    word = text.strip().casefold().replace("_", "-")
    offered = dict(offered_languages())
    if word in offered:
        return word
    base = word.partition("-")[0]
    if base in offered and known_locale(word).language == base and word != base:
        return base
    return _codes_by_name().get(_plain(text), "")


def base_language(code: str) -> str:
    """The language without its country: ``de`` for ``de-at``."""
    return code.partition("-")[0]


def language_tag(code: str) -> str:
    """The code as headers and pages carry it (RFC 5646): ``de-AT``, ``zh-Hant``."""
    base, _, kind = code.partition("-")
    kind = kind.upper() if len(kind) == 2 else kind.capitalize()
    return f"{base}-{kind}" if kind else base


def is_right_to_left(code: str) -> bool:
    """Whether the language is written from right to left."""
    return str(known_locale(code).character_order) == _RIGHT_TO_LEFT


@lru_cache(maxsize=1)
def _codes_by_name() -> dict[str, str]:
    offered = dict(offered_languages())
    names: dict[str, str] = {}
    for reader in _NAMED_IN:
        for code, name in known_locale(reader).languages.items():
            if code.lower() in offered:
                names.setdefault(_plain(str(name)), code.lower())
    return names


def _plain(text: str) -> str:
    letters = unicodedata.normalize("NFKD", text).casefold().split()
    return " ".join("".join(c for c in word if not unicodedata.combining(c)) for word in letters)
