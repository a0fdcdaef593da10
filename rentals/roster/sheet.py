"""What every kind of roster file is turned into: numbered rows of text."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass, field

MAX_BYTES = 4 * 1024 * 1024
MAX_ROWS = 5_000
MAX_COLUMNS = 60
MAX_CELL = 2_000
TOO_LARGE = (
    f"This is larger than {MAX_BYTES // 1024 // 1024} MB, far more than such a table needs."
    " Send only the rows that count."
)
TOO_MANY_ROWS = f"There are more than {MAX_ROWS:,} rows. Split the table and send it in parts."


class RosterUnreadable(ValueError):
    """The file cannot be read as a roster; the text says why and what to do, for the person who
    sent it.
    """


@dataclass(frozen=True)
class SheetRow:
    """One row as a spreadsheet numbers it (the first is 1), its cells as text, and cells that could
    not be read.

    `troubles` maps the index of a cell (0 for column A) to a sentence; `width` is how many cells
    the file gives the row, the empty ones at its end included.
    """

    number: int
    cells: tuple[str, ...]
    troubles: dict[int, str] = field(default_factory=dict)
    width: int = 0


@dataclass(frozen=True)
class RosterSheet:
    """All rows that hold anything, in order, with notes on how the file was read, and the encoding
    of its `letters` where that is not certain.
    """

    rows: tuple[SheetRow, ...]
    notes: tuple[str, ...] = ()
    letters: str = ""


def column_letters(index: int) -> str:
    """Letters of a column as a spreadsheet names it: 0 is A, 25 is Z, 26 is AA."""
    if index < 0:
        raise ValueError(f"a column index must be 0 or more, not {index}")
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def cell_name(column: int, row: int) -> str:
    """A cell as a spreadsheet names it: column index 1 in row 7 is B7."""
    return f"{column_letters(column)}{row}"


def tidy(text: str) -> str:
    """Cell text without invisible characters and outer blanks; line breaks stay, runs of blanks
    become one.
    """
    text = unicodedata.normalize("NFC", text).replace("\r\n", "\n").replace("\r", "\n")
    visible = "".join(
        c for c in text if c == "\n" or unicodedata.category(c) not in ("Cc", "Cf") or c == "\t"
    )
    lines = (" ".join(line.split()) for line in visible.split("\n"))
    return "\n".join(line for line in lines if line)[:MAX_CELL]


def checked_rows(rows: list[SheetRow]) -> tuple[SheetRow, ...]:
    """Rows that hold anything, without the empty columns at their right end.

    Raises
    ------
    RosterUnreadable
        If no row holds anything, or there are more than `MAX_ROWS` below the heading.
    """
    filled = []
    for row in rows:
        cells = list(row.cells)
        while cells and not cells[-1] and len(cells) - 1 not in row.troubles:
            cells.pop()
        if cells:
            filled.append(SheetRow(row.number, tuple(cells), row.troubles, len(row.cells)))
    if not filled:
        raise RosterUnreadable("The table is empty: there is no row with anything in it.")
    if len(filled) > MAX_ROWS + 1:
        raise RosterUnreadable(TOO_MANY_ROWS)
    return tuple(filled)
