"""A table of a fleet: which column is the kit, the kind and the serial, and its rows as text again.

A table is never stored before it is confirmed, so the page carries it: `as_text` gives what the box
shows, row for row under the same numbers.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass, replace

from .columns import Columns, match_columns, rows_below
from .fleet_words import FLEET_FIELDS, FLEET_HEADS, kind_meant
from .sheet import RosterSheet, RosterUnreadable, SheetRow, column_letters

#: What one page can still show row by row.
MAX_FLEET_ROWS = 2000
#: Chosen for the kit where the table has no such column: all parts become spares.
NO_COLUMN = -1


#: Stands in the box for a row of which nothing could be read: it must not vanish.
UNREADABLE = "?"
#: Shares of cells: of a swapped head hardly any fits, and most do elsewhere.
_MOST, _FEW = 0.8, 0.2


@dataclass(frozen=True)
class FleetTable:
    """The rows of a fleet with the index of each column; a kit column of `NO_COLUMN` is none."""

    rows: tuple[SheetRow, ...]
    columns: Columns

    @property
    def lacking(self) -> tuple[str, ...]:
        """Columns that nobody has named yet."""
        return tuple(field for field in FLEET_FIELDS if field not in self.columns.fields)

    def cell(self, row: SheetRow, field: str) -> str:
        """Text of a field in a row, on one line; empty where its column is not there."""
        index = self.columns.fields.get(field, NO_COLUMN)
        return " ".join(row.cells[index].split()) if 0 <= index < len(row.cells) else ""


def fleet_table(sheet: RosterSheet, chosen: Mapping[str, int]) -> FleetTable:
    """Find heads and columns; what was `chosen` for a field goes before its heading.

    Raises
    ------
    RosterUnreadable
        If there is no row below the heads, or more than `MAX_FLEET_ROWS`.
    """
    columns = _named_columns(sheet)
    fields = dict(columns.fields) if columns.head_row else _by_content(sheet)
    taken = set(chosen.values())
    fields = {field: index for field, index in fields.items() if index not in taken}
    fields |= {
        field: index
        for field, index in chosen.items()
        if field in FLEET_FIELDS and index < len(columns.heads)
    }
    rows = rows_below(sheet, columns.head_row)
    if not rows:
        raise RosterUnreadable("There are headings but no parts below them.")
    if len(rows) > MAX_FLEET_ROWS:
        raise RosterUnreadable(
            f"There are {len(rows):,} rows; up to {MAX_FLEET_ROWS:,} are taken at once. Split the"
            " table and send it in parts."
        )
    return FleetTable(rows, Columns(columns.heads, fields, columns.head_row))


def _named_columns(sheet: RosterSheet) -> Columns:
    """Columns of the table; cells beyond the last head are none, for the box fills up short rows
    and so cannot show how many cells the row of heads had.
    """
    columns = match_columns(sheet, FLEET_HEADS)
    for row in sheet.rows:
        if row.number == columns.head_row:
            return replace(columns, heads=columns.heads[: len(row.cells)])
    return columns


def kind_elsewhere(table: FleetTable, own_names: Mapping[str, str]) -> str:
    """A sentence where the column of the kinds holds none and another one does; else empty."""
    column, heads = table.columns.fields.get("kind", NO_COLUMN), table.columns.heads
    if column < 0:
        return ""
    shares = [_share_of_kinds(table, index, own_names) for index in range(len(heads))]
    better = max(range(len(heads)), key=lambda index: shares[index])
    if shares[column] > _FEW or shares[better] < _MOST:
        return ""
    return (
        f"“{heads[column]}” (column {column_letters(column)}) holds no kinds of parts,"
        f" “{heads[better]}” (column {column_letters(better)}) does. Say it under “Which column is"
        " what”, or put the heads right."
    )


def _share_of_kinds(table: FleetTable, index: int, own_names: Mapping[str, str]) -> float:
    cells = [row.cells[index] for row in table.rows if index < len(row.cells) and row.cells[index]]
    kinds = sum(bool(kind_meant(cell, own_names)) for cell in cells)
    return kinds / len(cells) if cells else 0.0


def _by_content(sheet: RosterSheet) -> dict[str, int]:
    """A table of three columns without heads: the kind tells itself, kit and serial stand in this
    order.
    """
    width = max(len(row.cells) for row in sheet.rows)
    kinds = [index for index, cell in enumerate(sheet.rows[0].cells) if kind_meant(cell)]
    if width != 3 or len(kinds) != 1:
        return {"kind": kinds[0]} if len(kinds) == 1 else {}
    kit, serial = (index for index in range(width) if index != kinds[0])
    return {"kit": kit, "kind": kinds[0], "serial": serial}


def as_text(sheet: RosterSheet) -> str:
    """The sheet as cells parted by tabs, each row on the line of its number. Cells that could not
    be read are left empty, so that they cannot pass unseen.
    """
    # Two cells at least, so that a tab tells how they are parted.
    width = max([2, *(len(row.cells) for row in sheet.rows)])
    out, line = io.StringIO(newline=""), 1
    writer = csv.writer(out, delimiter="\t", lineterminator="\n")
    for row in sheet.rows:
        out.write("\n" * (row.number - line))
        cells = ["" if index in row.troubles else cell for index, cell in enumerate(row.cells)]
        if not any(cells):
            cells[0] = UNREADABLE
        # A line break inside a cell would move all lines below it.
        writer.writerow([" ".join(cell.split()) for cell in cells] + [""] * (width - len(cells)))
        line = row.number + 1
    return out.getvalue()


def without_rows(sheet: RosterSheet, numbers: set[int]) -> RosterSheet:
    """The sheet without some of its rows; the numbers of the others stay."""
    return RosterSheet(tuple(row for row in sheet.rows if row.number not in numbers), sheet.notes)
