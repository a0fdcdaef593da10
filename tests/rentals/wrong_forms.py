"""What of a student's text is not in the form of its language: dates, numbers, amounts, words."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

from kitdesk.student_words import students_words
from rentals.catalogues import gettext, in_language

_MONTHS = "January|February|March|April|May|June|July|August|September|October|November|December"
_DAYS = "Monday Tuesday Wednesday Thursday Friday Saturday Sunday"
_ENGLISH = [
    rf"\b\d{{1,2}} (?:{_MONTHS})\b",
    *(rf"\b{day}\b" for day in _DAYS.split()),
    r"\b\d{1,2} (?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)\b",
    r"\b(?:today|tomorrow|yesterday|days ago|in \d+ days)\b",
]
_OTHERWISE = [
    r"\b\d{4}-\d{2}-\d{2}\b",  # ISO 8601
    r"\b\d{1,2}/\d{1,2}/\d{2,4}\b",
    r"(?<![\d.])\d+\.\d{1,2}(?![\d.])",  # a decimal point
    r"(?<![\d.,])[1-9]\d{0,2},\d{3}(?!\d| kg)",  # a comma between thousands
    r"(?<!\d )(?<!\d)[€$£]\s?\d",  # the sign before the amount
    r"\d\s?(?:days?|weeks?|pieces?|lines?)\b",
]
"""German, French and Spanish of Europe write a comma before decimals and the sign after sums."""
_SHORTEST = 14


def wrong_forms(text: str, language: str) -> list[str]:
    """Every date, number or amount in English, ISO or with a point, and every English sentence that
    the catalogue has a translation of.
    """
    patterns = [*_ENGLISH, *_OTHERWISE]
    found = [match[0] for pattern in patterns for match in re.finditer(pattern, text)]
    return [*found, *_untranslated(text, language)]


def _untranslated(text: str, language: str) -> Iterator[str]:
    plain = " ".join(text.split())
    for sentence in _english_sentences(language):
        if sentence in plain:
            yield sentence


@lru_cache
def _english_sentences(language: str) -> frozenset[str]:
    """The pieces of English sentences between what stands in braces, long enough to be told."""
    with in_language(language):
        ids = (message.id for message in students_words() if isinstance(message.id, str))
        translated = [words for words in ids if words and gettext(words) != words]
    pieces = (re.split(r"{\w+}|%\(\w+\)s|\n", words) for words in translated)
    return frozenset(
        piece.strip() for parts in pieces for piece in parts if len(piece.strip()) >= _SHORTEST
    )
