"""Numbers with their noun, as the sentences of the measurement say them. Pure."""

from __future__ import annotations

from gettext import ngettext


def counted(number: int, singular: str, plural: str) -> str:
    """The number and the form of the noun that goes with it: ``1 sample``, ``12 samples``."""
    return f"{number} {ngettext(singular, plural, number)}"
