"""The rows of numbers of a text: fast where they are clean, cell by cell where they are not."""

from __future__ import annotations

import io
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from .plain_decimals import read_decimals

SMALL = 2 * 2**20
"""Up to so many bytes the rows are read as a list of lines."""


@dataclass(frozen=True)
class NumberRows:
    """Where the numbers of a text stand and how they are written.

    ``data`` has ``\\n`` line ends, none at its end, and one byte per ASCII character; the numbers
    begin at ``offset``, in line ``first_line`` (from 1), in ``count`` columns. ``names`` serve
    refusals; words are let pass in the columns ``remarks``.
    """

    data: bytes
    offset: int
    first_line: int
    count: int
    delimiter: str
    decimal: str
    names: tuple[str, ...] | None
    remarks: frozenset[int] = frozenset()

    @cached_property
    def lines(self) -> int:
        """How many lines of numbers there are, empty ones among them."""
        return self.data.count(b"\n", self.offset) + 1

    def stream(self) -> io.BytesIO:
        """The rows as a stream of lines."""
        stream = io.BytesIO(self.data)
        stream.seek(self.offset)
        return stream


def read_clean(rows: NumberRows) -> np.ndarray | None:
    """All rows at once, plain decimals column by column and others by ``numpy.loadtxt``: shape
    (lines, count), or ``None`` where a cell, a row or a line needs a closer look.

    Empty lines, which ``loadtxt`` skips, show as fewer rows than lines.
    """
    data, body = rows.data, rows.offset
    in_quotes = data.find(b'"', body) >= 0
    in_commas = rows.decimal == ","
    if in_commas and (rows.delimiter == "," or data.find(b".", body) >= 0):
        return None
    if in_quotes and (rows.delimiter == " " or data.count(b'"', body) % 2):
        return None
    if not (in_quotes or in_commas) and len(data) - body > SMALL:
        return load_block(rows.stream(), rows, rows.lines)
    plain = data[body:]
    if in_quotes:
        plain = plain.replace(b'"', b"")
    if rows.delimiter != " " and len(plain) <= SMALL:
        values = read_decimals(plain, rows.delimiter, rows.decimal, rows.count)
        if values is not None:
            return values
    if in_commas:
        plain = plain.replace(b",", b".")
    if len(plain) > SMALL or not plain.isascii():
        return load_block(io.BytesIO(plain), rows, rows.lines)
    # A list of str is read an eighth faster than a stream, but takes four times the memory.
    return load_block(plain.decode("ascii").split("\n"), rows, rows.lines)


def load_block(
    lines: Iterable[bytes] | Iterable[str], rows: NumberRows, count: int
) -> np.ndarray | None:
    """``count`` lines with decimal points, shape (count, columns); ``None`` unless all are plain
    rows.
    """
    delimiter = None if rows.delimiter == " " else rows.delimiter
    try:
        values = np.loadtxt(lines, delimiter=delimiter, comments=None, ndmin=2)
    except ValueError:
        return None
    return values if values.shape == (count, rows.count) else None
