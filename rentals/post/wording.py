"""Wording with names in braces: ``{student}`` is replaced by its value, and nothing else is ever
worked out.

A line whose names all stand for nothing is left out, so that "Tracking number: {tracking}"
disappears with a parcel that has none. Values are put in once and not looked at again: braces in a
student's name stay braces.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from rentals.errors import Refused

#: Every name that may stand in braces, with what it says.
NAMES: dict[str, str] = {
    "student": "the student's name",
    "run": "the course run",
    "kit": "the kit's code",
    "due": "the day the kit is due back",
    "days": "how far off that day is, as in “in 5 days” or “3 days ago”",
    "post_by": "the day the parcel must be posted",
    "sent_on": "the day the parcel was posted",
    "carrier": "who carries the parcel",
    "tracking": "the tracking number",
    "contents": "what is in the kit, line by line",
    "to_return": "what must come back, line by line",
    "shortfalls": "what was missing or damaged and what to do, line by line",
    "charges": "what was charged, line by line",
    "deposit": "the deposit",
    "charged": "all charges together",
    "refund": "what is paid back",
    "to_pay": "what is still to pay",
    "instructor": "the instructor's name",
    "practice": "the practice's name",
    "practice_email": "the practice's e-mail address",
    "practice_phone": "the practice's telephone number",
    "practice_address": "where parcels go back to",
}
_NAME = re.compile(r"\{([a-z_]+)\}")


@dataclass(frozen=True)
class Wording:
    """Subject and text of one occasion."""

    subject: str
    text: str


def check_wording(wording: Wording) -> None:
    """Raise Refused, naming the field, where a wording cannot be used: a name nobody knows, a stray
    brace, no text.
    """
    if not wording.subject.strip():
        raise Refused("Give the mail a subject.", field="subject")
    if any(ord(character) < 32 for character in wording.subject):
        raise Refused("The subject is one line.", field="subject")
    if not wording.text.strip():
        raise Refused("Write something: a mail without words is not sent.", field="text")
    for field, text in (("subject", wording.subject), ("text", wording.text)):
        unknown = [name for name in _NAME.findall(text) if name not in NAMES]
        if unknown:
            known = ", ".join(f"{{{name}}}" for name in NAMES)
            raise Refused(
                f"{{{unknown[0]}}} stands for nothing here. These names do: {known}.", field=field
            )
        stray = _NAME.sub("", text)
        if "{" in stray or "}" in stray:
            at = stray[max(0, min(n for n in (stray.find("{"), stray.find("}")) if n >= 0) - 10) :][
                :30
            ]
            raise Refused(
                f"A brace stands alone near “{at.strip()}”. Write a name as {{student}}.",
                field=field,
            )


def fill(wording: Wording, values: Mapping[str, str]) -> Wording:
    """The wording with every name replaced by its value; a name without a value stands for
    nothing.
    """
    subject = " ".join(_put(wording.subject, values).split())
    kept = [
        _put(line, values) for line in wording.text.splitlines() if not _says_nothing(line, values)
    ]
    text = re.sub(r"\n{3,}", "\n\n", "\n".join(line.rstrip() for line in kept)).strip()
    return Wording(subject[:200], text)


def _put(text: str, values: Mapping[str, str]) -> str:
    return _NAME.sub(lambda found: values.get(found[1], ""), text)


def _says_nothing(line: str, values: Mapping[str, str]) -> bool:
    names = _NAME.findall(line)
    return bool(names) and not any(values.get(name, "") for name in names)
