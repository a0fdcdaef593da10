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
    "tracking_link": "where the parcel can be followed",
    "student_page": "the student's own page of the loan, a private address",
    "charge_by": "the day by which to charge the cells, only where they are charged",
    "renew_by": "the day by which to put in new cells, only where they are not charged",
    "contents": "what is in the kit, line by line",
    "to_return": "what must come back, line by line",
    "shortfalls": "what was missing or damaged and what to do, line by line",
    "none_back": "the kit's code, only where nothing of the kit is back",
    "part_back": "the kit's code, only where a part of it is back and the rest is due",
    "rest": "what is still to come of a kit that is back in part, line by line",
    "back": "the kit's code, only where the kit is back",
    "back_complete": "the kit's code, only where everything is back",
    "back_short": "the kit's code, only where it is back with something missing or damaged",
    "not_back": "the kit's code, only where the kit was written off",
    "charges": "what was charged, line by line",
    "deposit": "the deposit",
    "charged": "all charges together",
    "borne_by_us": "what was written off and is paid by the practice",
    "undecided": "what nobody has decided on yet",
    "refund": "what is paid back in the end",
    "refund_due": "what is still to be paid back",
    "paid_back": "what has been paid back",
    "paid_back_on": "the day on which it was paid back",
    "to_pay": "what the student has still to pay",
    "pay_by": "the day by which it must be paid",
    "how_to_pay": "how to pay, as Setup says",
    "paid": "what the student has paid beyond the deposit",
    "paid_on": "the day on which the student paid it",
    "instructor": "the instructor's name",
    "practice": "the practice's name",
    "practice_email": "the practice's e-mail address",
    "practice_phone": "the practice's telephone number",
    "practice_address": "where parcels go back to",
}
LONGEST_SUBJECT = 200
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
    if any(ord(character) < ord(" ") for character in wording.subject):
        raise Refused("The subject is one line.", field="subject")
    if not wording.text.strip():
        raise Refused("Write something: a mail without words is not sent.", field="text")
    _check_names(wording.subject, "subject", NAMES)
    _check_names(wording.text, "text", NAMES)


def check_phrase(text: str, names: Mapping[str, str]) -> None:
    """Raise Refused where a phrase has no words, a name that is none of `names`, or a stray
    brace.
    """
    if not text.strip():
        raise Refused("Write something: without words the usual sentence is better.", field="text")
    _check_names(text, "text", names)


def _check_names(text: str, field: str, names: Mapping[str, str]) -> None:
    unknown = [name for name in _NAME.findall(text) if name not in names]
    if unknown:
        allowed = ", ".join(f"{{{name}}}" for name in names)
        raise Refused(
            f"{{{unknown[0]}}} stands for nothing here. These names do: {allowed}.", field=field
        )
    without_names = _NAME.sub("", text)
    stray = re.search(r"[{}]", without_names)
    if stray:
        start = max(0, stray.start() - 10)
        nearby = without_names[start : start + 30].strip()
        raise Refused(
            f"A brace stands alone near “{nearby}”. Write a name as {{student}}.", field=field
        )


def fill(wording: Wording, values: Mapping[str, str]) -> Wording:
    """The wording with every name replaced by its value; a name without a value stands for
    nothing.
    """
    subject = " ".join(_put_in(wording.subject, values).split())
    lines = [
        _put_in(line, values)
        for line in wording.text.splitlines()
        if not _stands_for_nothing(line, values)
    ]
    text = "\n".join(line.rstrip() for line in lines)
    text = re.sub(r"\n{3,}", "\n\n", text).strip()
    return Wording(subject[:LONGEST_SUBJECT], text)


def names_in(wording: Wording) -> set[str]:
    """The names that stand in a wording."""
    return set(_NAME.findall(wording.subject + wording.text))


def _put_in(text: str, values: Mapping[str, str]) -> str:
    return _NAME.sub(lambda name: values.get(name[1], ""), text)


def _stands_for_nothing(line: str, values: Mapping[str, str]) -> bool:
    names = _NAME.findall(line)
    return bool(names) and not any(values.get(name, "") for name in names)
