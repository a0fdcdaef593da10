"""The store of files is away, or does not take what it was asked: said in a sentence, and tried
again.
"""

from __future__ import annotations

import errno

STORE_AWAY = (
    "The files of this desk lie in a store that does not answer just now, so nothing was changed."
    " What you entered is still here: press again in a moment."
)


class StoreAway(OSError):
    """Files lie in a store that did not do what it was asked; `sentence` says to those who run the
    desk why, and what helps. Everybody else reads STORE_AWAY.

    It says nothing of the file itself, which may be there.
    """

    def __init__(self, sentence: str) -> None:
        super().__init__(errno.EIO, sentence)
        self.sentence = sentence

    def __str__(self) -> str:
        return self.sentence


def store_away(problem: BaseException | None) -> StoreAway | None:
    """The store that was away, where that is what went wrong or what led to it."""
    while problem is not None:
        if isinstance(problem, StoreAway):
            return problem
        problem = problem.__cause__ or problem.__context__
    return None
