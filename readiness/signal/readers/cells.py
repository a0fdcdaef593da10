"""Rows and cells of a text capture: splitting, and what counts as a number."""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence

_NOT_A_NUMBER = ("nan", "inf", "infinity")
NOT_FINITE = {sign + word for sign in ("", "+", "-") for word in _NOT_A_NUMBER} | {
    *("na", "n/a", "#n/a", "null", "none", "#div/0!", "#num!", "#value!"),
    *("nan(ind)", "-nan(ind)", "1.#qnan", "-1.#ind", "1.#inf", "-1.#inf"),
}
"""What programs write where they have no number, in small letters."""
_NUMBERS = re.compile(r"[\s\d.,;+\-eE\"]*\Z")
_DIGIT = re.compile(r"\d")
_POINT = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?\Z", re.ASCII)
_COMMA = re.compile(r"[+-]?(\d+(,\d*)?|,\d+)([eE][+-]?\d+)?\Z", re.ASCII)


def looks_like_numbers(line: str) -> bool:
    """Whether a line could be a row of numbers in some dialect: digits, marks and delimiters, with
    nan and inf.
    """
    if _NUMBERS.match(line):
        return _DIGIT.search(line) is not None
    words = re.split(r"[\s;,\"]+", line.strip(), maxsplit=128)
    digits = [word for word in words if word and word.lower() not in NOT_FINITE]
    return (
        bool(digits) and len(digits) < len(words) and all(_NUMBERS.match(word) for word in digits)
    )


def split_row(line: str, delimiter: str) -> list[str]:
    """Cells of a line; quotes are honoured where the line has some."""
    if delimiter == " ":
        return line.replace('"', "").split()
    if '"' in line:
        try:
            return next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))
        except (csv.Error, StopIteration):
            return line.split(delimiter)
    return line.split(delimiter)


def is_number(cell: str, decimal: str) -> bool:
    """Whether a cell is one plain decimal number with the given mark."""
    return bool((_COMMA if decimal == "," else _POINT).match(cell))


def is_words_row(cells: Sequence[str], decimal: str) -> bool:
    """A row of words: some text, and no number in any cell."""
    texts = [cell.strip() for cell in cells if cell.strip()]
    numbers = [text for text in texts if is_number(text, decimal) or text.lower() in NOT_FINITE]
    return bool(texts) and not numbers and not any(looks_like_numbers(text) for text in texts)


def to_number(cell: str, decimal: str) -> float:
    """Value of a number cell (``is_number`` must hold)."""
    return float(cell.replace(",", ".") if decimal == "," else cell)
