"""Rows of plain decimal numbers, all cells of a column at once.

A number of at most fifteen digits and its power of ten are both exact in double precision, so their
quotient is the nearest double: the very value that ``float`` reads.
"""

from __future__ import annotations

import numpy as np

MOST_DIGITS = 15
"""So many digits are exact in a double, whatever they are."""
LINE_END, ZERO, PLUS, MINUS = (np.uint8(code) for code in b"\n0+-")


def read_decimals(data: bytes, delimiter: str, decimal: str, count: int) -> np.ndarray | None:
    """Rows of numbers without exponents, quotes or blanks.

    Parameters
    ----------
    data : bytes
        Lines between ``\\n``, none at the end.
    delimiter, decimal : str
        One ASCII character each, not the same.
    count : int
        How many columns every line has.

    Returns
    -------
    numpy.ndarray or None
        Shape (lines, count); ``None`` where a row is ragged or a cell is written in another way.
    """
    codes = np.frombuffer(data + b"\n", dtype=np.uint8)
    # Each cell of most files has its point, so that points and ends take turns.
    marks = np.flatnonzero(
        (codes == ord(delimiter)) | (codes == LINE_END) | (codes == ord(decimal))
    )
    is_point = codes[marks] == ord(decimal)
    in_turn = len(marks) % 2 == 0 and is_point[::2].all() and not is_point[1::2].any()
    ends = marks[1::2].copy() if in_turn else marks[~is_point]
    if not _is_even(codes[ends] == LINE_END, count):
        return None
    starts = np.empty_like(ends)
    starts[0] = 0
    np.add(ends[:-1], 1, out=starts[1:])
    points = marks[::2] if in_turn else _points(marks[is_point], ends)
    columns = np.empty((count, len(ends) // count))
    for column, into in enumerate(columns):
        first, point, end = (each[column::count].copy() for each in (starts, points, ends))
        if not _read_column(codes, first, point, end, into):
            return None
    return columns.T


def _is_even(closes_line: np.ndarray, count: int) -> bool:
    """Whether every line has ``count`` cells, by which of all cells close one."""
    if len(closes_line) % count:
        return False
    lines = len(closes_line) // count
    last_cells = closes_line[count - 1 :: count]
    return bool(last_cells.all()) and np.count_nonzero(closes_line) == lines


def _points(at: np.ndarray, ends: np.ndarray) -> np.ndarray:
    """Where the point of each cell stands, or would stand behind its last digit.

    Of two points in a cell the first is left among the digits, where it is none.
    """
    points = ends.copy()
    points[np.searchsorted(ends, at)] = at
    return points


def _read_column(
    codes: np.ndarray, starts: np.ndarray, points: np.ndarray, ends: np.ndarray, into: np.ndarray
) -> bool:
    """Write the numbers of a column; false where a cell is no plain decimal."""
    first = codes[starts]
    negative = first == MINUS
    whole = points - starts - (negative | (first == PLUS))
    decimals = np.maximum(ends - points - 1, 0)
    most, scale = int(whole.max()), int(decimals.max())
    if most + scale > MOST_DIGITS or np.any(whole + decimals < 1):
        return False
    into.fill(0.0)
    digits = [
        _add_digit(into, codes, points - 1 - place, whole, place, 10.0 ** (scale + place))
        for place in range(most)
    ] + [
        _add_digit(into, codes, points + 1 + place, decimals, place, 10.0 ** (scale - 1 - place))
        for place in range(scale)
    ]
    into /= 10.0**scale
    np.negative(into, out=into, where=negative)
    return all(digits)


def _add_digit(
    total: np.ndarray,
    codes: np.ndarray,
    at: np.ndarray,
    lengths: np.ndarray,
    place: int,
    weight: float,
) -> bool:
    """Add one digit of each cell that is long enough; false where something else stands there."""
    digits = codes.take(at, mode="clip")
    digits -= ZERO
    if place >= lengths.min():
        digits[lengths <= place] = 0
    total += digits * weight
    return bool(digits.max() <= 9)
