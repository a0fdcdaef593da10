"""The played practice in chapters: which rows were written in each. A table's numbers only grow, so
a chapter is a stretch of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from enum import StrEnum

from django.db.models import Max

from rentals.models import ElectrodeBatch, StockItem

from .tables import Table, copied_tables, root_of


class Kind(StrEnum):
    """What a chapter tells: kits and parts come in, students are entered, a kit is tested, a run of
    loans goes by, the last run stands as it stands today.
    """

    KITS = "kits"
    PEOPLE = "people"
    SITTING = "sitting"
    RUN = "run"
    ENDING = "ending"


#: Pieces left, by the name of the table and the number of the row.
Stock = Mapping[tuple[Table, int], int]


@dataclass(frozen=True, eq=False)
class Chapter:
    """`number` tells chapters of a kind apart. Its rows have numbers above `after`, up to `upto`;
    `taken` is what it took out of stock.
    """

    kind: Kind
    number: int
    after: Mapping[Table, int]
    upto: Mapping[Table, int]
    taken: Stock

    def holds(self, root: Table, row: int) -> bool:
        """Whether a row was written in it."""
        return self.after[root] < row <= self.upto[root]

    def size(self, root: Table) -> int:
        """How many numbers it used of a table."""
        return self.upto[root] - self.after[root]


class Chapters:
    """All chapters, in the order in which they were played."""

    def __init__(self) -> None:
        self.roots = list(dict.fromkeys(root_of(table) for table in copied_tables()))
        self.told: list[Chapter] = []
        self.start = self._numbers()

    @contextmanager
    def chapter(self, kind: Kind, number: int = 0) -> Iterator[None]:
        """What is written inside is one chapter."""
        after, before = self._numbers(), _stock()
        yield
        left = _stock()
        taken = {row: pieces - left[row] for row, pieces in before.items()}
        self.told.append(Chapter(kind, number, after, self._numbers(), taken))

    def one(self, kind: Kind, number: int = 0) -> Chapter:
        """A certain chapter. Raises LookupError where it was not played."""
        for chapter in self.told:
            if (chapter.kind, chapter.number) == (kind, number):
                return chapter
        raise LookupError(f"No {kind} {number} was played.")

    def of(self, root: Table, row: int) -> Chapter | None:
        """The chapter in which a row was written; None for one that was there before."""
        return next((chapter for chapter in self.told if chapter.holds(root, row)), None)

    def _numbers(self) -> dict[Table, int]:
        largest = {}
        for root in self.roots:
            found = root._base_manager.aggregate(largest=Max("pk"))["largest"]
            # The last rows of an earlier chapter may be gone again.
            largest[root] = max(int(found or 0), self.told[-1].upto[root] if self.told else 0)
        return largest


def _stock() -> dict[tuple[Table, int], int]:
    left: dict[tuple[Table, int], int] = {}
    for table in (StockItem, ElectrodeBatch):
        rows = table._base_manager.values_list("pk", "on_hand")
        left |= {(table, pk): pieces for pk, pieces in rows}
    return left
