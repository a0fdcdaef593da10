"""What a part of the check found."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import IntEnum, auto

#: After so many lines the log as a whole is what is wrong.
MOST_LINES = 20


class Section(IntEnum):
    """What a finding is about, in the order in which findings are told."""

    CHAINS = auto()
    KITS = auto()
    LISTS = auto()
    STEPS = auto()
    SWAPS = auto()
    ROLES = auto()
    EARMARKS = auto()
    ARRIVALS = auto()
    LEDGER = auto()
    REPORTS = auto()
    LINES = auto()
    END = auto()
    ROWS = auto()
    FILES = auto()


@dataclass
class Findings:
    """Sentences by section; `wrong_lines` are the first lines of the log whose code is not theirs,
    of `wrong` in all.
    """

    sentences: list[tuple[Section, str]] = field(default_factory=list)
    wrong_lines: list[int] = field(default_factory=list)
    wrong: int = 0

    def add(self, section: Section, sentences: Iterable[str]) -> None:
        """Add sentences about one thing; those that came stay where the next one fails."""
        for sentence in sentences:
            self.sentences.append((section, sentence))

    def note_wrong(self, position: int) -> None:
        """A line of the log that was changed, or what stood before it."""
        self.wrong += 1
        if len(self.wrong_lines) < MOST_LINES:
            self.wrong_lines.append(position)

    def join(self, more: Findings) -> None:
        """Take over what another part found."""
        self.sentences += more.sentences
        self.wrong_lines = sorted(self.wrong_lines + more.wrong_lines)[:MOST_LINES]
        self.wrong += more.wrong

    @property
    def clean(self) -> bool:
        """Whether nothing was found."""
        return not (self.sentences or self.wrong)

    def told(self) -> list[str]:
        """All sentences, in the order of their sections."""
        told = list(self.sentences)
        told += [
            (Section.LINES, f"Line {position} of the log was changed, or what stood before it.")
            for position in self.wrong_lines
        ]
        if more := self.wrong - len(self.wrong_lines):
            told.append((Section.LINES, f"So were {more} more of its lines."))
        return [sentence for _, sentence in sorted(told, key=lambda finding: finding[0])]
