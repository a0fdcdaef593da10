"""Rows with more cells than heads: a comma inside a cell that had no quotation marks around it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from .kinds import LOOKS
from .sheet import SheetRow


@dataclass(frozen=True)
class Joined:
    """A row whose torn cell is put together again, and what stands in that cell now."""

    row: SheetRow
    text: str


def is_overfull(row: SheetRow, heads: int, width: int) -> bool:
    """Whether a row has more cells than there are heads, or than a sound row of its file has."""
    return len(row.cells) > heads or row.width > width


def cells_of(row: SheetRow, heads: int) -> int:
    """How many cells the row has, as a person counts them in the file."""
    return len(row.cells) if len(row.cells) > heads else row.width


def joined(row: SheetRow, fields: Mapping[str, int], heads: int) -> Joined | None:
    """The row with neighbouring cells put together so that every cell looks like its field; of two
    such readings the one further left. None where there is none: then a person must read it.
    """
    count = cells_of(row, heads)
    extra = count - heads
    cells = (*row.cells, *[""] * (count - len(row.cells)))
    best: tuple[int, int, Joined] | None = None
    for start in range(heads):
        torn = cells[start : start + extra + 1]
        if extra < 1 or not all(torn):
            continue
        whole = ", ".join(torn)
        read = (*cells[:start], whole, *cells[start + extra + 1 :])
        fits = _fits(read, fields)
        if fits is not None and (best is None or fits > best[0]):
            best = fits, start, Joined(replace(row, cells=read, width=heads), whole)
    return best[2] if best else None


def _fits(cells: tuple[str, ...], fields: Mapping[str, int]) -> int | None:
    """How many filled cells look like their field; None where one of them does not."""
    filled = [
        (name, cells[index])
        for name, index in fields.items()
        if index < len(cells) and cells[index] and name in LOOKS
    ]
    if not all(LOOKS[name](text) for name, text in filled):
        return None
    return len(filled)
