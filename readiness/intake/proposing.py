"""Which test each file of a round at hand may be, by time and order against the tests that were
led through. A proposal only: somebody confirms it before anything is scored.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from rentals.counts import counted

LEFT_OUT = ""
"""As the test of a proposal: the file is none of this round."""
CLOCKS_APART = timedelta(minutes=2)
"""So far the clock of the recording machine may be off the desk's before it counts."""


@dataclass(frozen=True)
class UnnamedFile:
    """A file that does not say all of whose it is and what. ``test`` is what it does say, or empty;
    ``moment`` when it was recorded or saved, where that is known.
    """

    key: int
    name: str
    test: str = ""
    moment: datetime | None = None


@dataclass(frozen=True)
class Proposal:
    """The test proposed for a file, ``LEFT_OUT`` for none, and why."""

    file: UnnamedFile
    test: str
    why: str


def propose(
    files: Sequence[UnnamedFile], tests: Sequence[str], began: datetime | None = None
) -> list[Proposal]:
    """A test for each file, in the order in which the files were made.

    Parameters
    ----------
    files : sequence of UnnamedFile
        By time where each has one, else by their names, figures in them read as numbers.
    tests : sequence of str
        What the round leads through, in its order. A test that a file names is given to no other.
    began : datetime or None
        When the round began: a file from before is left out.
    """
    by_time = all(file.moment for file in files)
    ordered = sorted(files, key=_by_moment if by_time else _by_name)
    named = {file.test for file in files}
    free = [test for test in tests if test not in named]
    proposals = []
    place = 0
    for file in ordered:
        if began and file.moment and file.moment < began - CLOCKS_APART:
            proposals.append(Proposal(file, LEFT_OUT, "Made before this round was begun."))
        elif file.test:
            proposals.append(Proposal(file, file.test, "The file or its name says this test."))
        elif place < len(free):
            why = f"{_ordinal(place + 1)} {_how(by_time)}."
            proposals.append(Proposal(file, free[place], why))
            place += 1
        else:
            proposals.append(Proposal(file, LEFT_OUT, "More files than tests: this one is over."))
    return proposals


def _ordinal(place: int) -> str:
    words = ("First", "Second", "Third", "Fourth", "Fifth")
    return words[place - 1] if place <= len(words) else f"Number {place}"


def _how(by_time: bool) -> str:
    return "by time" if by_time else "by name: not every file has a time"


def _by_moment(file: UnnamedFile) -> tuple[datetime, list[tuple[int, str]]]:
    assert file.moment is not None
    return file.moment, _by_name(file)


def _by_name(file: UnnamedFile) -> list[tuple[int, str]]:
    """The name in pieces, so that "take 10" comes after "take 9"."""
    pieces = re.findall(r"\d{1,18}|\D+", file.name.lower())
    return [(int(piece), "") if piece.isdecimal() else (-1, piece) for piece in pieces]


def fits(proposals: Sequence[Proposal], tests: Sequence[str]) -> str:
    """What is wrong with the number of files, and what to do; empty where each test has one."""
    over = sum(proposal.test == LEFT_OUT for proposal in proposals)
    given = {proposal.test for proposal in proposals}
    lacking = [test for test in tests if test not in given]
    sentences = []
    if over:
        files, rest = counted(len(proposals), "file", "files"), counted(over, "is", "are")
        give = "Give it its test if it belongs here."
        if over > 1:
            give = "Give each its test if it belongs here."
        sentences.append(
            f"{files} for {counted(len(tests), 'test', 'tests')}: {rest} left out below. {give}"
        )
    if lacking:
        sentences.append(
            f"No file for {', '.join(lacking)} yet. Record what lacks and drop it too; what is"
            " here can be confirmed before."
        )
    return " ".join(sentences)
