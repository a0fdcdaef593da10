"""Which facts of a mail have changed since a person wrote its words, and how that is said."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import islice

from .wording import NAMES, Wording, names_in

#: Words that are true on one day only, whoever wrote them.
_DAY_WORDS = re.compile(
    r"\b(today|tonight|tomorrow|yesterday|in \d+ days|\d+ days ago|(this|next|last) week"
    r"|(this|next|last) (mon|tues|wednes|thurs|fri|satur|sun)day)\b",
    re.IGNORECASE,
)
LONGEST_SHOWN = 60
MOST_NAMED = 3


@dataclass(frozen=True)
class ChangedFact:
    """One name of a wording with what it stood for and what it stands for now."""

    name: str
    before: str
    now: str


def changed_facts(
    before: Mapping[str, str], now: Mapping[str, str], *, wording: Wording, text: str
) -> list[ChangedFact]:
    """The facts that words changed by a person may hold and that are otherwise now.

    How far off a day is changes every day: it counts only where the text speaks of such a day.
    """
    names = names_in(wording) - {"days"}
    days_before = before.get("days", "")
    if _DAY_WORDS.search(text) or (days_before and days_before in text):
        names.add("days")
    return [
        ChangedFact(name, before.get(name, ""), now[name])
        for name in NAMES
        if name in names and before.get(name, "") != now[name]
    ]


def held_sentence(changes: Iterable[ChangedFact]) -> str:
    """Why a mail with a person's own words is held and what to do; empty where nothing changed."""
    sentences = [
        f"{NAMES[change.name]} was {_shown(change.before)}, now {_shown(change.now)}"
        for change in islice(changes, MOST_NAMED)
    ]
    if not sentences:
        return ""
    return (
        f"Its facts have changed since its text was written by hand: {'; '.join(sentences)}."
        " Change the text, or save it as it stands if it still holds, then approve it."
    )


def _shown(value: str) -> str:
    words = " ".join(value.split())
    if not words:
        return "empty"
    cut = words if len(words) <= LONGEST_SHOWN else words[: LONGEST_SHOWN - 1] + "…"
    return f"“{cut}”"
