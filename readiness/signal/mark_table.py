"""Many stored marks of samples, looked through at once for what shares words with a new one."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .sample_marks import SCRAMBLE, WORDS_SHARED, SampleMark, may_share, words_in

_BITS = 22
"""Of two recordings' eight hundred words so many bits let a fifth of one agree by chance."""


class MarkTable:
    """Stored marks; `sharing` says which of them may hold the samples of a new one."""

    def __init__(self, stored: Sequence[bytes]) -> None:
        self._stored = stored
        words = [words_in(mark) for mark in stored]
        # A mark without words shares none.
        self._places = np.array([k for k, some in enumerate(words) if len(some)], dtype=int)
        lengths = [len(words[place]) for place in self._places]
        self._starts = np.cumsum([0, *lengths[:-1]])
        self._short = _short(np.concatenate(words)) if lengths else np.array([], dtype=np.uint32)

    def sharing(self, mark: SampleMark) -> list[int]:
        """Places of the marks that share enough words with `mark`, in their order."""
        if not len(self._places) or len(mark.words) < WORDS_SHARED:
            return []
        mine = np.zeros(1 << _BITS, dtype=bool)
        mine[_short(np.fromiter(mark.words, np.uint32, len(mark.words)))] = True
        hits = np.add.reduceat(mine[self._short], self._starts, dtype=np.int32)
        likely = self._places[hits >= WORDS_SHARED]
        return [int(place) for place in likely if may_share(mark, self._stored[place])]


def _short(words: np.ndarray) -> np.ndarray:
    """Each word by some of its bits, mixed: what shares words shares these."""
    mixed = words.astype(np.uint64) * SCRAMBLE & np.uint64(0xFFFFFFFF)
    return (mixed >> np.uint64(32 - _BITS)).astype(np.uint32)
