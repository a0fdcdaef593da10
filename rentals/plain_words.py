"""A text as it is looked for: words without case, accents and marks."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

LONGEST_WORD = 60
_BETWEEN = re.compile(r"[\W_]+")


def plain_words(text: str) -> list[str]:
    """The words of a text in their order: ``Zoë d'Arc-Bell`` gives zoe, d, arc and bell."""
    folded = unicodedata.normalize("NFKD", unicodedata.normalize("NFKC", text).casefold())
    bare = "".join(letter for letter in folded if not unicodedata.combining(letter))
    return [word[:LONGEST_WORD] for word in _BETWEEN.split(bare) if word]


def joined_word(text: str) -> str:
    """All of a text as one word: a serial or a number, however it is set apart."""
    return "".join(plain_words(text))[:LONGEST_WORD]


def words_of(texts: Iterable[str], *, joined: bool = False) -> set[str]:
    """The words of several texts; where they are `joined`, each text as one word too."""
    texts = list(texts)
    words = {word for text in texts for word in plain_words(text)}
    return words | {joined_word(text) for text in texts} - {""} if joined else words
