"""Codes, names and days in texts: found once in the played practice, put anew into each copy."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from datetime import date, datetime, timedelta

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
        longest_first = sorted(words, key=len, reverse=True)
        self._pattern = re.compile(f"({'|'.join(map(re.escape, longest_first))}|{_DAY})")
        self.days: dict[str, tuple[Callable[[date], str], date]] = {}

    def phrase(self, text: str) -> Phrase:
        """A text cut at the words that differ from copy to copy."""
        parts = self._pattern.split(text)
        for word in parts[1::2]:
            if word not in self.days and re.fullmatch(_DAY, word) and (known := _day(word)):
                self.days[word] = known
        return tuple(parts)

    def moved_days(self, by: timedelta) -> dict[str, str]:
        """All days found so far, as they are written so much later."""
        return {word: form(day + by) for word, (form, day) in self.days.items()}


def rendered(phrase: Phrase, new: Mapping[str, str]) -> str:
    """The text with new words; a word that has none stays."""
    if len(phrase) == 1:
        return phrase[0]
    parts = list(phrase)
    for place in range(1, len(parts), 2):
        parts[place] = new.get(parts[place], parts[place])
    return "".join(parts)


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
