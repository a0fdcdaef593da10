"""The numbers of a text capture: fast where the text is clean, exact about the place where it is
not.
"""

from __future__ import annotations

import io
from array import array
from collections.abc import Iterable
from itertools import islice

import numpy as np

from readiness.signal.errors import CaptureRefused

from .cells import NOT_FINITE, is_number, split_row, to_number
from .dialect import Sheet
from .limits import check_channels, check_values
from .quoting import quoted

LARGEST_UV = 1e15
BLOCK_LINES = 4096
SMALL = 2 * 2**20


def read_table(sheet: Sheet) -> np.ndarray:
    """Numbers of a sheet.

    Returns
    -------
    numpy.ndarray
        Shape (rows, ``sheet.count``), float64. NaN where a cell is empty or not finite. Row i
        stands in line ``sheet.first_line + i``.

    Raises
    ------
    CaptureRefused
        Too many numbers; a ragged row, a text cell, mixed decimal marks or thousands separators,
        with line and column.
    """
    check_channels(sheet.count)
    lines = sheet.data.count(b"\n", sheet.body) + 1
    check_values(lines * sheet.count)
    values = _read_clean(sheet, lines)
    if values is None:
        values = _read_with_care(sheet)
    if not np.isfinite(values).all():
        values[~np.isfinite(values)] = np.nan
    return values


def check_readings(samples_uv: np.ndarray) -> None:
    """Refuse readings so large that they are no voltage in any unit and would overflow when
    squared.
    """
    with np.errstate(invalid="ignore"):
        largest = np.fmax.reduce(np.abs(samples_uv), initial=0.0)
    if largest > LARGEST_UV:
        raise CaptureRefused(
            f"The EMG column holds a reading of {largest / 1e6:.3g} V, which is no voltage of a"
            " kit."
        )


def _read_clean(sheet: Sheet, lines: int) -> np.ndarray | None:
    """All rows in one call of ``numpy.loadtxt``, or ``None`` where a cell, a row or a line needs a
    closer look.

    Empty lines, which ``loadtxt`` skips, show as fewer rows than ``lines``.
    """
    data, body = sheet.data, sheet.body
    quoted, comma = data.find(b'"', body) >= 0, sheet.decimal == ","
    if comma and (sheet.delimiter == "," or data.find(b".", body) >= 0):
        return None
    if quoted and (sheet.delimiter == " " or data.count(b'"', body) % 2):
        return None
    if not (quoted or comma) and len(data) - body > SMALL:
        stream = io.BytesIO(data)
        stream.seek(body)
        return _load(stream, sheet, lines)
    plain = data[body:].replace(b'"', b"") if quoted else data[body:]
    plain = plain.replace(b",", b".") if comma else plain
    if len(plain) > SMALL or not plain.isascii():
        return _load(io.BytesIO(plain), sheet, lines)
    # A list of str is read an eighth faster than a stream, but takes four times the memory.
    return _load(plain.decode("ascii").split("\n"), sheet, lines)


def _load(lines: Iterable[bytes] | Iterable[str], sheet: Sheet, count: int) -> np.ndarray | None:
    try:
        values = np.loadtxt(
            lines,
            delimiter=None if sheet.delimiter == " " else sheet.delimiter,
            comments=None,
            ndmin=2,
        )
    except ValueError:
        return None
    return values if values.shape == (count, sheet.count) else None


def _read_with_care(sheet: Sheet) -> np.ndarray:
    """Block by block: clean blocks at once, others row by row, so that each refusal can name its
    place.
    """
    values = array("d")
    blank = 0
    stream = io.BytesIO(sheet.data)
    stream.seek(sheet.body)
    first = sheet.first_line
    while block := list(islice(stream, BLOCK_LINES)):
        plain = sheet.decimal == "." and not blank and b'"' not in block[0]
        table = _load(block, sheet, len(block)) if plain and _plain_row(block[-1], sheet) else None
        if table is not None:
            values.frombytes(table.tobytes())
        else:
            for number, raw in enumerate(block, first):
                row = _plain_row(raw, sheet) or _row(raw, sheet, number)
                if row and blank:
                    raise CaptureRefused(f"Line {blank} is empty in the middle of the numbers.")
                blank = blank or (0 if row else number)
                values.extend(row)
        first += len(block)
    whole = np.frombuffer(values, dtype=np.float64).reshape(-1, sheet.count)
    return (_without_blank_end(whole) if sheet.count == 1 else whole).copy()


def _plain_row(raw: bytes, sheet: Sheet) -> list[float] | None:
    """A row of plain numbers and empty cells, or ``None``; not with underscores, which ``float``
    lets pass.
    """
    if b"_" in raw or b'"' in raw or (sheet.decimal == "," and b"." in raw):
        return None
    cells = raw.split() if sheet.delimiter == " " else raw.split(sheet.delimiter.encode())
    if len(cells) != sheet.count:
        return None
    if sheet.decimal == ",":
        cells = [cell.replace(b",", b".") for cell in cells]
    try:
        return [float(cell) if cell.strip() else np.nan for cell in cells]
    except ValueError:
        return None


def _row(raw: bytes, sheet: Sheet, number: int) -> list[float]:
    """A row cell by cell; empty for an empty line between rows of several columns."""
    line = raw.decode("utf-8", errors="backslashreplace").rstrip("\n")
    if not line.strip() and sheet.count > 1 and sheet.delimiter != "\t":
        return []
    if line.count('"') % 2:
        raise CaptureRefused(f"Line {number} has a quotation mark that is not closed.")
    cells = split_row(line, sheet.delimiter) or [""]
    if len(cells) != sheet.count:
        raise CaptureRefused(
            f"Line {number} has {len(cells)} columns where the rows above have {sheet.count}."
        )
    return [_value(cell.strip(), sheet, number, position) for position, cell in enumerate(cells)]


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
    if is_number(cell, "," if sheet.decimal == "." else "."):
        raise CaptureRefused(
            f"Line {line}, {column} holds {quoted(cell)}, but the rows above use"
            f" {_spoken(sheet.decimal)} as mark. Write all numbers with one decimal mark and"
            " without thousands separators."
        )
    bare = cell.translate(str.maketrans("", "", " .,'’\u00a0\u202f_"))
    if bare.isascii() and bare.lstrip("+-").isdigit():
        raise CaptureRefused(
            f"Line {line}, {column} holds {quoted(cell)}: thousands separators are not read. Write"
            " plain numbers."
        )
    raise CaptureRefused(
        f"Line {line}, {column} holds the text {quoted(cell)} where a number is expected."
    )


def _spoken(mark: str) -> str:
    return "a comma" if mark == "," else "a point"
