"""Numbers with their noun, as the sentences of the measurement say them. Pure."""

from __future__ import annotations

from gettext import NullTranslations

_ENGLISH = NullTranslations()
"""The measurement speaks English only; gettext would look for a catalogue on the disk each time."""


def counted(number: int, singular: str, plural: str) -> str:
    """The number and the form of the noun that goes with it: ``1 sample``, ``12 samples``."""
    return f"{number} {_ENGLISH.ngettext(singular, plural, number)}"
