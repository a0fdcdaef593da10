"""Where a word may be cut: never between a letter and the marks that belong to it."""

import unicodedata
from collections.abc import Iterator

_JOINERS = "\u200c\u200d"
_KILLS_VOWEL = 9  # Combining class of viramas: the next letter joins this one.
#: Thai and Lao vowels that are written before their consonant.
_LEADING_VOWELS = "เแโใไເແໂໃໄ"
#: Thai and Lao vowels that are letters to Unicode and hang on their consonant all the same.
_TRAILING_VOWELS = "ะาำຳະາ"


def pieces(word: str) -> Iterator[str]:
    """The word in pieces that each stay whole."""
    piece = ""
    for character in word:
        if piece and not _belongs(piece[-1], character):
            yield piece
            piece = ""
        piece += character
    if piece:
        yield piece


def _belongs(before: str, character: str) -> bool:
    if unicodedata.category(character).startswith("M") or character in _JOINERS:
        return True
    if before in _JOINERS or before in _LEADING_VOWELS or character in _TRAILING_VOWELS:
        return True
    return unicodedata.combining(before) == _KILLS_VOWEL
