"""The numbers of a text capture: fast where the text is clean, exact about the place where it is not."""

from __future__ import annotations

import io
from array import array

import numpy as np

from readiness.signal.errors import CaptureRefused

from .cells import NOT_FINITE, is_number, split_row, to_number
from .dialect import Sheet
from .limits import check_channels, check_values


def read_table(sheet: Sheet) -> np.ndarray:
    """Numbers of a sheet.

    Returns
    -------
    numpy.ndarray
        Shape (rows, ``sheet.count``), float64. NaN where a cell is empty or not finite. Row i stands in line
        ``sheet.first_line + i``.

    Raises
    ------
    CaptureRefused
        Too many numbers; a ragged row, a text cell, mixed decimal marks or thousands separators, with line and column.
    """
    check_channels(sheet.count)
    stop = len(sheet.data.rstrip(b"\n")) if sheet.data.endswith(b"\n") else len(sheet.data)
    lines = sheet.data.count(b"\n", sheet.body, stop) + 1
    check_values(lines * sheet.count)
    values = _read_clean(sheet, lines)
    if values is None:
        values = _read_with_care(sheet)
    if not np.isfinite(values).all():
        values[~np.isfinite(values)] = np.nan
    return values


def _read_clean(sheet: Sheet, lines: int) -> np.ndarray | None:
    """All rows in one call of ``numpy.loadtxt``, or ``None`` where a cell, a row or a line needs a closer look.

    Empty lines, which ``loadtxt`` skips, show as fewer rows than ``lines``.
    """
    data, body = sheet.data, sheet.body
    if data.find(b'"', body) >= 0:
        return None
    stream = io.BytesIO(data)
    stream.seek(body)
    if sheet.decimal == ",":
        if data.find(b".", body) >= 0:
            return None
        stream = io.BytesIO(data[body:].replace(b",", b"."))
    try:
        values = np.loadtxt(
            stream, delimiter=None if sheet.delimiter == " " else sheet.delimiter, comments=None, ndmin=2
        )
    except ValueError:
        return None
    return values if values.shape == (lines, sheet.count) else None


def _read_with_care(sheet: Sheet) -> np.ndarray:
    values = array("d")
    number = sheet.first_line
    blank = 0
    width = sheet.count
    stream = io.BytesIO(sheet.data)
    stream.seek(sheet.body)
    for raw in stream:
        line = raw.decode("utf-8", errors="backslashreplace").rstrip("\n")
        if not line.strip() and width > 1 and sheet.delimiter != "\t":
            blank, number = blank or number, number + 1
            continue
        if not line.strip() and width == 1:
            values.append(np.nan)
            number += 1
            continue
        if blank:
            raise CaptureRefused(f"Line {blank} is empty in the middle of the numbers.")
        cells = split_row(line, sheet.delimiter)
        if len(cells) != width:
            raise CaptureRefused(f"Line {number} has {len(cells)} columns where the rows above have {width}.")
        for position, cell in enumerate(cells):
            values.append(_value(cell.strip(), sheet, number, position))
        number += 1
    table = np.frombuffer(values, dtype=np.float64).reshape(-1, width).copy()
    return _without_blank_end(table) if width == 1 else table


def _without_blank_end(table: np.ndarray) -> np.ndarray:
    """Empty lines at the end of a single column are no samples."""
    filled = np.flatnonzero(np.isfinite(table[:, 0]))
    return table[: filled[-1] + 1] if len(filled) else table[:0]


def _value(cell: str, sheet: Sheet, line: int, position: int) -> float:
    if is_number(cell, sheet.decimal):
        return to_number(cell, sheet.decimal)
    if not cell or cell.lower() in NOT_FINITE:
        return float("nan")
    name = sheet.names[position] if sheet.names else ""
    column = f"column {position + 1}" + (f" ({name[:40]})" if name else "")
    shown = cell if len(cell) <= 40 else cell[:37] + "..."
    if is_number(cell, "," if sheet.decimal == "." else "."):
        raise CaptureRefused(
            f"Line {line}, {column} holds {shown!r}, but the rows above use {_spoken(sheet.decimal)} as decimal mark. "
            "Write all numbers with one decimal mark and without thousands separators."
        )
    bare = cell.translate(str.maketrans("", "", " .,'’\u00a0\u202f_"))
    if bare and bare.lstrip("+-").isdigit():
        raise CaptureRefused(
            f"Line {line}, {column} holds {shown!r}: thousands separators are not read. Write plain numbers."
        )
    raise CaptureRefused(f"Line {line}, {column} holds the text {shown!r} where a number is expected.")


def _spoken(mark: str) -> str:
    return "a comma" if mark == "," else "a point"
