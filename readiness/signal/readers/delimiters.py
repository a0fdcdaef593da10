"""Which delimiter and which decimal mark a text uses, told from its first rows of numbers."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from readiness.signal.errors import CaptureRefused

from .cells import split_row
from .quoting import quoted

_COMMA_NUMBER = re.compile(r"[+-]?\d+,\d+([eE][+-]?\d+)?\Z")
_WHOLE = re.compile(r"[+-]?\d+\Z")


@dataclass(frozen=True)
class Dialect:
    """Delimiter and decimal mark; ``undecided`` when the rows can be read in two ways and the first
    was taken.
    """

    delimiter: str
    decimal: str
    undecided: bool = False


def find_dialect(
    numeric: Sequence[str], names: str, delimiter: str = "", decimal: str = ""
) -> Dialect:
    """Delimiter and decimal mark of rows of numbers.

    Parameters
    ----------
    numeric : sequence of str
        Some rows of numbers, at least one.
    names : str
        The row of words above them, or empty.
    delimiter, decimal : str
        A column map's answers; they decide where the rows can be read in two ways.
    """
    for mark in ("\t", ";"):
        if 2 * sum(mark in line for line in numeric) > len(numeric):
            return Dialect(mark, _decimal(numeric, mark))
    spaced = [line.split() for line in numeric]
    if all(
        len(tokens) > 1 and all(_COMMA_NUMBER.match(t) or _WHOLE.match(t) for t in tokens)
        for tokens in spaced
    ):
        return Dialect(" ", _decimal(numeric, " "))
    if 2 * sum("," in line for line in numeric) > len(numeric):
        return _with_commas(numeric, names, delimiter, decimal)
    if any(len(tokens) > 1 for tokens in spaced):
        return Dialect(" ", _decimal(numeric, " "))
    return Dialect(",", ".")


def _decimal(numeric: Sequence[str], delimiter: str) -> str:
    cells = [cell for line in numeric for cell in split_row(line, delimiter)]
    commas = next((cell for cell in cells if "," in cell), None)
    points = next((cell for cell in cells if "." in cell), None)
    if commas is not None and points is not None:
        raise CaptureRefused(
            f"Decimal marks are mixed: {quoted(commas)} and {quoted(points)}. Write all numbers"
            " with one decimal mark and without thousands separators."
        )
    return "." if commas is None else ","


def _with_commas(numeric: Sequence[str], names: str, delimiter: str, decimal: str) -> Dialect:
    """Rows with commas and without tabs or semicolons: the comma parts columns, or decimals of one
    single column.
    """
    if any('"' in line for line in numeric):
        cells = [cell.strip() for line in numeric for cell in split_row(line, ",")]
        return Dialect(",", "," if any("," in cell for cell in cells) else ".")
    single = all(_COMMA_NUMBER.match(line.strip()) for line in numeric if "," in line)
    if not single or "." in "".join(numeric):
        return Dialect(",", ".")
    if names:
        return Dialect(",", ".") if "," in names else Dialect(";", ",")
    if decimal == "," and delimiter != ",":
        return Dialect(";", ",")
    return Dialect(",", ".", undecided=not (delimiter or decimal))
