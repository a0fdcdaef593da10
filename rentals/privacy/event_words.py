"""What an event of a student's loan says once the student is erased."""

from __future__ import annotations

from .keeping import SOMEBODY

#: By verb: a sentence in the place of one that names the student or that a person has typed.
_PLAIN = {
    "assigned": f"Assigned to {SOMEBODY}.",
    "unassigned": f"No longer assigned to {SOMEBODY}.",
    "overridden": "Issued on an override.",
    "packed": f"Packed for {SOMEBODY}.",
    "unpacked": "Unpacked.",
    "dispatched": f"Dispatched to {SOMEBODY}.",
    "recalled": "Not dispatched after all.",
    "arrived": f"Back from {SOMEBODY}.",
    "held": "Held.",
    "lost": "Written off.",
    "set_aside": f"Set aside for {SOMEBODY}.",
    "let_go": f"No longer set aside for {SOMEBODY}.",
    "noted": f"Noted on a loan to {SOMEBODY}.",
    "settled": f"Loan to {SOMEBODY} settled.",
}


def without_the_student(verb: str, text: str) -> str:
    """Other words for an event of a loan: what happened, and nothing of whom. Sentences made by the
    desk about parts stay, without the reason that somebody typed behind a colon.
    """
    if verb in _PLAIN:
        return _PLAIN[verb]
    if verb != "shortfall":
        return text
    head, colon, _ = text.partition(": ")
    return f"{head}." if colon else text
