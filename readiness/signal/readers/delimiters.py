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
        if _in_most(mark, numeric):
            return Dialect(mark, _decimal(numeric, mark))
    spaced = [line.split() for line in numeric]
    if all(_are_comma_numbers(tokens) for tokens in spaced):
        return Dialect(" ", _decimal(numeric, " "))
    if _in_most(",", numeric):
        return _with_commas(numeric, names, delimiter, decimal)
    if any(len(tokens) > 1 for tokens in spaced):
        return Dialect(" ", _decimal(numeric, " "))
    return Dialect(",", ".")


def _in_most(mark: str, lines: Sequence[str]) -> bool:
    return 2 * sum(mark in line for line in lines) > len(lines)


def _are_comma_numbers(tokens: Sequence[str]) -> bool:
    """Several numbers with decimal commas, or whole, between blanks."""
    numbers = (_COMMA_NUMBER.match(token) or _WHOLE.match(token) for token in tokens)
    return len(tokens) > 1 and all(numbers)


def _decimal(numeric: Sequence[str], delimiter: str) -> str:
    cells = [cell for line in numeric for cell in split_row(line, delimiter)]
    comma = next((cell for cell in cells if "," in cell), None)
    point = next((cell for cell in cells if "." in cell), None)
    if comma is not None and point is not None:
        raise CaptureRefused(
            f"Decimal marks are mixed: {quoted(comma)} and {quoted(point)}. Write all numbers with"
            " one decimal mark and without thousands separators."
        )
    return "." if comma is None else ","


def _with_commas(numeric: Sequence[str], names: str, delimiter: str, decimal: str) -> Dialect:
    """Rows with commas and without tabs or semicolons: the comma parts columns, or decimals of one
    single column.
    """
    columns, single_column = Dialect(",", "."), Dialect(";", ",")
    if any('"' in line for line in numeric):
        return Dialect(",", _decimal_in_quotes(numeric))
    with_comma = [line.strip() for line in numeric if "," in line]
    can_be_single = all(_COMMA_NUMBER.match(line) for line in with_comma)
    if not can_be_single or any("." in line for line in numeric):
        return columns
    if names:
        return columns if "," in names else single_column
    if decimal == "," and delimiter != ",":
        return single_column
    answered = bool(delimiter or decimal)
    return columns if answered else Dialect(",", ".", undecided=True)


def _decimal_in_quotes(numeric: Sequence[str]) -> str:
    cells = (cell for line in numeric for cell in split_row(line, ","))
    return "," if any("," in cell for cell in cells) else "."
