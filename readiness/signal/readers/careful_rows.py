"""Rows of numbers read cell by cell, so that each refusal names its line and column."""

from __future__ import annotations

import re
from array import array
from collections.abc import Iterator
from itertools import islice

import numpy as np

from readiness.signal.counts import counted
from readiness.signal.errors import CaptureRefused

from .cells import NOT_FINITE, is_number, split_row, to_number
from .number_rows import NumberRows, load_block
from .quoting import quoted

BLOCK_LINES = 4096
_MARK_NAMES = {",": "a comma", ".": "a point"}
_GROUPED = re.compile(r"[+-]?\d{1,3}(?:[ .,'\u2019\u00a0\u202f_]\d{3})+(?:[.,]\d*)?")
"""A number with marks between its thousands."""


def read_with_care(rows: NumberRows) -> np.ndarray:
    """Rows in blocks: clean blocks at once, others row by row.

    Returns
    -------
    numpy.ndarray
        Shape (rows, count), NaN for an empty cell; infinities as they are written.

    Raises
    ------
    CaptureRefused
        A ragged row, a text cell, an empty line, mixed decimal marks, thousands separators.
    """
    values = array("d")
    empty_line = 0
    first, stream = rows.first_line, rows.stream()
    while block := list(islice(stream, BLOCK_LINES)):
        table = None if empty_line else _clean_block(block, rows)
        if table is not None:
            values.frombytes(table.tobytes())
        else:
            empty_line = _add_rows(values, _numbered_rows(block, rows, first), empty_line)
        first += len(block)
    table = np.frombuffer(values, dtype=np.float64).reshape(-1, rows.count)
    if rows.count == 1:
        table = _without_empty_end(table)
    return table.copy()


def _clean_block(block: list[bytes], rows: NumberRows) -> np.ndarray | None:
    """A block at once where its first and last line promise that it is plain."""
    promising = rows.decimal == "." and b'"' not in block[0] and _plain_row(block[-1], rows)
    return load_block(block, rows, len(block)) if promising else None


def _numbered_rows(
    block: list[bytes], rows: NumberRows, first: int
) -> Iterator[tuple[int, list[float]]]:
    for number, raw in enumerate(block, first):
        yield number, _plain_row(raw, rows) or _row(raw, rows, number)


def _add_rows(
    values: array[float], numbered: Iterator[tuple[int, list[float]]], empty_line: int
) -> int:
    """Add rows to ``values``. Returns the first empty line (0: none), behind which no row may
    follow.
    """
    for number, row in numbered:
        if row and empty_line:
            raise CaptureRefused(
                f"Line {empty_line} is empty in the middle of the numbers. Export the capture"
                " again, in one piece."
            )
        if not row:
            empty_line = empty_line or number
        values.extend(row)
    return empty_line


def _plain_row(raw: bytes, rows: NumberRows) -> list[float] | None:
    """A row of plain numbers and empty cells, or ``None``; not with underscores, which ``float``
    lets pass.
    """
    if b"_" in raw or b'"' in raw or (rows.decimal == "," and b"." in raw):
        return None
    cells = raw.split() if rows.delimiter == " " else raw.split(rows.delimiter.encode())
    if len(cells) != rows.count:
        return None
    if rows.decimal == ",":
        cells = [cell.replace(b",", b".") for cell in cells]
    try:
        return [float(cell) if cell.strip() else np.nan for cell in cells]
    except ValueError:
        return None


def _row(raw: bytes, rows: NumberRows, number: int) -> list[float]:
    """A row cell by cell; empty for an empty line between rows of several columns."""
    line = raw.decode("utf-8", errors="backslashreplace").rstrip("\n")
    if not line.strip() and rows.count > 1 and rows.delimiter != "\t":
        return []
    if line.count('"') % 2:
        raise CaptureRefused(
            f"Line {number} has a quotation mark that is not closed. Export the capture again,"
            " without quotes."
        )
    cells = split_row(line, rows.delimiter) or [""]
    if len(cells) != rows.count:
        columns = counted(len(cells), "column", "columns")
        raise CaptureRefused(
            f"Line {number} has {columns} where the rows above have {rows.count}. Export the"
            " capture again: a row must have a cell for each column."
        )
    return [_value(cell.strip(), rows, number, position) for position, cell in enumerate(cells)]


def _value(cell: str, rows: NumberRows, line: int, position: int) -> float:
    if is_number(cell, rows.decimal):
        return to_number(cell, rows.decimal)
    if not cell or cell.lower() in NOT_FINITE or position in rows.remarks:
        return float("nan")
    raise _refusal_of(cell, rows, line, position)


def _refusal_of(cell: str, rows: NumberRows, line: int, position: int) -> CaptureRefused:
    """Why a cell is no number here."""
    name = rows.names[position] if rows.names else ""
    place = f"Line {line}, column {position + 1}"
    if name:
        place += f" ({name[:40]})"
    other_mark = "," if rows.decimal == "." else "."
    if is_number(cell, other_mark):
        return CaptureRefused(
            f"{place} holds {quoted(cell)}, but the rows above use {_MARK_NAMES[rows.decimal]} as"
            " mark. Write all numbers with one decimal mark and without thousands separators."
        )
    if _GROUPED.fullmatch(cell):
        return CaptureRefused(
            f"{place} holds {quoted(cell)}: thousands separators are not read. Write plain numbers."
        )
    return CaptureRefused(
        f"{place} holds the text {quoted(cell)} where a number is expected. Export the samples"
        " alone, an empty cell where one lacks."
    )


def _without_empty_end(table: np.ndarray) -> np.ndarray:
    """Empty lines at the end of a single column are no samples."""
    filled = np.flatnonzero(np.isfinite(table[:, 0]))
    return table[: filled[-1] + 1] if len(filled) else table[:0]
