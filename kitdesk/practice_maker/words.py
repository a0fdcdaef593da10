"""Codes, names and days in texts: found once in the played practice, put anew into each copy."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from datetime import date, datetime, timedelta
from functools import cache

from rentals.dates import long_date, short_date, short_weekday_date, weekday_date

#: Literal text and words to be put anew, by turns; the first is literal.
Phrase = tuple[str, ...]

_DAY = r"\b(?:[A-Z][a-z]+ )?\d{1,2} [A-Z][a-z]{2,8} \d{4}\b"
_FORMS: tuple[Callable[[date], str], ...] = (
    long_date,
    short_date,
    weekday_date,
    short_weekday_date,
)


class Finder:
    """Finds words of the played practice in texts."""

    def __init__(self, words: Iterable[str]) -> None:
        self._split = re.compile(f"({_any_of({word for word in words if word})}|{_DAY})").split
        self._known: dict[str, Phrase] = {}
        self._days: dict[str, tuple[Callable[[date], str], date]] = {}

    def phrase(self, text: str) -> Phrase:
        """A text cut at the words that differ from copy to copy."""
        if text not in self._known:
            parts = self._known[text] = tuple(self._split(text))
            for word in parts[1::2]:
                if word not in self._days and re.fullmatch(_DAY, word) and (known := _day(word)):
                    self._days[word] = known
        return self._known[text]

    def moved_days(self, by: timedelta) -> dict[str, str]:
        """All days found so far, as they are written so much later."""
        return {word: _written(form, day + by) for word, (form, day) in self._days.items()}


def rendered(phrase: Phrase, new: Mapping[str, str]) -> str:
    """The text with new words; a word that has none stays."""
    if len(phrase) == 1:
        return phrase[0]
    parts = list(phrase)
    for place in range(1, len(parts), 2):
        parts[place] = new.get(parts[place], parts[place])
    return "".join(parts)


@cache
def _written(form: Callable[[date], str], day: date) -> str:
    return form(day)


def _any_of(words: set[str]) -> str:
    """A pattern of many words, the longest first. What they begin with in common stands there once:
    else every place of a text is held against each of them.
    """
    begins: dict[str, set[str]] = {}
    for word in words - {""}:
        begins.setdefault(word[0], set()).add(word[1:])
    ways = [re.escape(letter) + _any_of(rest) for letter, rest in sorted(begins.items())]
    if not ways:
        return ""
    pattern = ways[0] if len(ways) == 1 else f"(?:{'|'.join(ways)})"
    return f"(?:{pattern})?" if "" in words else pattern


def _day(word: str) -> tuple[Callable[[date], str], date] | None:
    plain = " ".join(word.split()[-3:])
    for form in ("%d %b %Y", "%d %B %Y"):
        try:
            day = datetime.strptime(plain, form).date()
        except ValueError:
            continue
        for write in _FORMS:
            if write(day) == word:
                return write, day
    return None
