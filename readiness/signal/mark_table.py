"""Many stored marks of samples, looked through at once for what shares words with a new one."""

from __future__ import annotations

from collections.abc import Hashable, Sequence

import numpy as np

from .sample_marks import WORDS_SHARED, SampleMark, words_in

OWNERS_OF_A_WORD = 16
"""A word in marks of more owners than this is of the room and tells no recording from another: what
is left of the mains repeats a pattern. Recordings that share nothing else are not compared. So in a
room with hum a fifth to a quarter of the comparisons are left, and of copies that were coarsened,
cut or drowned in noise almost all are still found.
"""
_HALF, _LOWER_HALF = np.uint64(32), np.uint64(2**32 - 1)


class MarkTable:
    """Stored marks, each with whose it is (a kit); `sharing` says which of them may hold the
    samples of a new one.
    """

    def __init__(self, stored: Sequence[bytes], owners: Sequence[Hashable]) -> None:
        numbers = {owner: number for number, owner in enumerate(dict.fromkeys(owners))}
        of = np.array([numbers[owner] for owner in owners], dtype=int)
        # In the order of their owners, so that those of one stand together beneath each word too.
        self._places = np.argsort(of, kind="stable")
        self._owners = of[self._places]
        words = [words_in(stored[place]) for place in self._places.tolist()]
        ranks = np.repeat(np.arange(len(words), dtype=np.uint64), [len(some) for some in words])
        # Sorted once for a batch, in the time that two or three looks at all words would take.
        self._words = np.sort(_above(np.concatenate(words)) | ranks) if words else ranks

    def sharing(self, mark: SampleMark) -> list[int]:
        """Places of the marks that share enough words with `mark`, in their order: at least one of
        them must be a word that few owners have.
        """
        if not len(self._words) or len(mark.words) < WORDS_SHARED:
            return []
        mine = np.sort(_above(np.fromiter(mark.words, np.uint32, len(mark.words))))
        begin = np.searchsorted(self._words, mine)
        end = np.searchsorted(self._words, mine | _LOWER_HALF, "right")
        begin, end = begin[end > begin], end[end > begin]
        if not len(begin):
            return []
        found = np.concatenate([self._words[a:b] for a, b in zip(begin, end, strict=True)])
        ranks = (found & _LOWER_HALF).astype(np.int64)
        word = np.repeat(np.arange(len(begin)), end - begin)
        of_few = self._owners_of(word, ranks)[word] <= OWNERS_OF_A_WORD
        telling = np.bincount(ranks[of_few], minlength=len(self._places)) > 0
        enough = np.bincount(ranks, minlength=len(self._places)) >= WORDS_SHARED
        sharing: list[int] = self._places[enough & telling].tolist()
        return sorted(sharing)

    def _owners_of(self, word: np.ndarray, ranks: np.ndarray) -> np.ndarray:
        """How many owners each word has, shape (words,): `word` and `ranks`, both of shape (n,),
        are in order.
        """
        owner = self._owners[ranks]
        another = np.ones(len(word), dtype=bool)
        another[1:] = (word[1:] != word[:-1]) | (owner[1:] != owner[:-1])
        return np.bincount(word[another])


def _above(words: np.ndarray) -> np.ndarray:
    """Words of 32 bits in the upper half of as many numbers of 64."""
    return words.astype(np.uint64) << _HALF
