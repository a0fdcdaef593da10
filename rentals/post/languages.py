"""Which language a mail is written in: the student's, else the practice's, else English. In each of
these a wording of the practice's own comes before the one that Kitdesk comes with.
"""

from __future__ import annotations

from collections.abc import Collection

from rentals.catalogues import languages_at_hand
from rentals.languages import USUAL_LANGUAGE, base_language, language_name


def choose_language(student: str, practice: str, written: Collection[str]) -> str:
    """The code of the wording to use, among the languages one was `written` in and those that
    Kitdesk has words of.

    A wording of the same language for another country is closer than any other language.
    """
    for wanted in (student, practice):
        for at_hand in (written, languages_at_hand()):
            if wanted and (closest := _closest(wanted, at_hand)):
                return closest
    return USUAL_LANGUAGE


def _closest(wanted: str, at_hand: Collection[str]) -> str:
    base = base_language(wanted)
    kin = sorted(code for code in at_hand if base_language(code) == base)
    return next((code for code in (wanted, base, *kin) if code in at_hand), "")


def locale_for(used: str, student: str, house: str) -> str:
    """The locale of dates and sums in a mail: the student's form of the language that is used,
    else the house's, else the language itself.
    """
    for locale in (student, house):
        if locale and base_language(locale.lower()) == base_language(used):
            return locale
    return used


def why_language(used: str, student: str) -> str:
    """Which language a mail is in and why, in a sentence."""
    name = language_name(used)
    if not student:
        return f"{name}, since no language is noted for the student."
    if base_language(student) == base_language(used):
        return f"{name}, the student’s language."
    return f"{name}: there is no wording in {language_name(student)}, the student’s language."
