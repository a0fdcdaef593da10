"""Sentences that stand for a name of a wording: what lacks, and what is asked of the student. Each
language can have its own, beside its wordings.
"""

from __future__ import annotations

from collections.abc import Mapping

from rentals.catalogues import gettext, gettext_noop, in_language
from rentals.languages import USUAL_LANGUAGE

from .wording import Wording, fill

#: Each phrase with what it is for.
PHRASES: dict[str, str] = {
    "missing_part": "one missing part, in the list of {shortfalls}",
    "damaged_part": "one damaged part, in the list of {shortfalls}",
    "part_serial": "a part with its serial number, in every list",
}
#: Names that may stand in a phrase, with what they say.
PHRASE_NAMES: dict[str, str] = {
    "part": "the part, with its count where it is more than one",
    "serial": "its serial number",
    "detail": "what was noted at the return check, in brackets",
    "price": "what a new one costs",
}
#: A phrase is one sentence after another, each on its line; a line whose names all stand for
#: nothing is left out.
USUAL_PHRASES: dict[str, str] = {
    "missing_part": gettext_noop(
        "{part}: missing{detail}.\n"
        "Please look for it and post it to us in a padded envelope.\n"
        "A new one costs {price}."
    ),
    "damaged_part": gettext_noop(
        "{part}: damaged{detail}.\n"
        "There is no need to send anything; please tell us how it happened.\n"
        "A repair or a new one costs up to {price}."
    ),
    "part_serial": gettext_noop("{part}, serial {serial}"),
}


def usual_phrase(key: str, language: str = USUAL_LANGUAGE) -> Wording:
    """A phrase of Kitdesk's own in a language, as a wording without a subject."""
    with in_language(language):
        return Wording("", gettext(USUAL_PHRASES[key]))


def say(phrases: Mapping[str, str], key: str, **values: str) -> str:
    """A phrase on one line, its names replaced; where `phrases` has none, the usual one in the
    language that is spoken now.
    """
    text = phrases.get(key) or gettext(USUAL_PHRASES[key])
    return " ".join(fill(Wording("", text), values).text.split())
