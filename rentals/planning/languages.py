"""The languages that dates, numbers, money and countries are written in."""

from __future__ import annotations

from functools import lru_cache

from babel.core import Locale, UnknownLocaleError


@lru_cache(maxsize=50)
def known_locale(name: str) -> Locale:
    """The locale of a name such as ``en-gb`` or ``de_AT``; English for one that is not known."""
    try:
        return Locale.parse(name, sep="-" if "-" in name else "_")
    except (UnknownLocaleError, ValueError):
        return Locale("en")
