"""Finding a person's words in texts and putting nobody in their place."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from .keeping import SOMEBODY

#: Shorter words would be found in the middle of what has nothing to do with the person.
SHORTEST = 4
_BETWEEN = r"[\s_,]+"


class Person:
    """The words by which somebody can be known: name, e-mail, phone, street, tracking numbers."""

    def __init__(self, words: Iterable[str]) -> None:
        whole = {" ".join(word.split()) for word in words}
        self.words = sorted(filter(_is_telling, whole), key=len, reverse=True)
        either_way = [order for word in self.words for order in _orders(word.split())]
        self._pattern = re.compile(
            "|".join(_bounded(order) for order in either_way) or r"(?!)", re.IGNORECASE
        )
        self._in_bytes = re.compile(
            b"|".join(_encoded(order) for order in either_way) or rb"(?!)", re.IGNORECASE
        )

    def __bool__(self) -> bool:
        return bool(self.words)

    def swept(self, text: str) -> str:
        """The text, with nobody in the place of the person."""
        return self._pattern.sub(SOMEBODY, text)

    def swept_deep(self, value: Any) -> Any:
        """The same for all texts inside of lists and mappings, their keys too."""
        if isinstance(value, str):
            return self.swept(value)
        if isinstance(value, list | tuple):
            return [self.swept_deep(item) for item in value]
        if isinstance(value, dict):
            return {self.swept_deep(key): self.swept_deep(item) for key, item in value.items()}
        return value

    def swept_bytes(self, data: bytes) -> bytes:
        """The bytes with ``x`` over the person's words, length for length: what follows stays where
        it was, so a header of fixed columns and all samples are read as before.
        """
        return self._in_bytes.sub(lambda found: b"x" * len(found[0]), data)

    def fragments(self) -> list[str]:
        """For each word its longest run of plain letters and digits, which every database finds
        whatever its case; empty where a word has none.
        """
        runs = (re.findall(r"[A-Za-z0-9]+", word) for word in self.words)
        return [max(found, key=len, default="") for found in runs]


def _is_telling(word: str) -> bool:
    return len(word) >= SHORTEST or (len(word) > 1 and not word.isascii())


def _orders(pieces: list[str]) -> list[list[str]]:
    """The pieces as they stand, and of a name with the family name first."""
    if not 2 <= len(pieces) <= 3 or any(piece.isdigit() for piece in pieces):
        return [pieces]
    return [pieces, [pieces[-1], *pieces[:-1]]]


def _bounded(pieces: list[str]) -> str:
    """The pieces as a pattern; not inside of a longer word, where the script parts words."""
    pattern = _BETWEEN.join(re.escape(piece) for piece in pieces)
    parts_words = pieces[0].isascii() or pieces[0].lower() != pieces[0].upper()
    return rf"(?<!\w){pattern}(?!\w)" if parts_words else pattern


def _encoded(pieces: list[str]) -> bytes:
    """The pieces as a pattern of bytes, in each encoding that can write them."""
    patterns = [rb"[\s_,]+".join(re.escape(piece.encode()) for piece in pieces)]
    for encoding in ("latin-1", "utf-16-le"):
        try:
            patterns.append(re.escape(" ".join(pieces).encode(encoding)))
        except UnicodeEncodeError:
            continue
    return b"|".join(patterns)
