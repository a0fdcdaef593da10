"""Many stored marks of samples, looked through at once for what shares words with a new one."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .sample_marks import SCRAMBLE, WORDS_SHARED, SampleMark, words_in

_BITS = 22
"""Of two recordings' eight hundred words so many bits let a fifth of one agree by chance."""


class MarkTable:
    """Stored marks; `sharing` says which of them may hold the samples of a new one."""

    def __init__(self, stored: Sequence[bytes]) -> None:
        words = [words_in(mark) for mark in stored]
        # A mark without words shares none.
        self._places = np.array([k for k, some in enumerate(words) if len(some)], dtype=int)
        lengths = [len(words[place]) for place in self._places]
        self._starts = np.cumsum([0, *lengths[:-1]])
        self._words = np.concatenate(words) if lengths else np.array([], dtype=np.uint32)
        self._short = _short(self._words)

    def sharing(self, mark: SampleMark) -> list[int]:
        """Places of the marks that share enough words with `mark`, in their order."""
        if not len(self._places) or len(mark.words) < WORDS_SHARED:
            return []
        mine = np.zeros(1 << _BITS, dtype=bool)
        mine[_short(np.fromiter(mark.words, np.uint32, len(mark.words)))] = True
        alike = np.flatnonzero(mine[self._short])
        shared = [word in mark.words for word in self._words[alike].tolist()]
        of = np.searchsorted(self._starts, alike[np.array(shared, dtype=bool)], "right") - 1
        counts = np.bincount(of, minlength=len(self._places))
        found: list[int] = self._places[counts >= WORDS_SHARED].tolist()
        return found


def _short(words: np.ndarray) -> np.ndarray:
    """Each word by some of its bits, mixed: what shares words shares these."""
    mixed = words.astype(np.uint64) * SCRAMBLE & np.uint64(0xFFFFFFFF)
    return (mixed >> np.uint64(32 - _BITS)).astype(np.uint32)
