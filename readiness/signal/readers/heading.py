"""What stands above the numbers of a text: header lines, a row of names, a row of units."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from readiness.signal.counts import counted
from readiness.signal.errors import CaptureRefused

from .cells import is_words_row, looks_like_numbers, split_row
from .encoding import decode_line
from .facts import KEYS
from .quoting import quoted
from .roles import is_known_label
from .units import find_unit, is_counts

HEAD_LINES = 200
SAMPLE_ROWS = 40
_CHANNEL_NUMBER = re.compile(r"\d{1,3}\Z", re.ASCII)
_HEADER_FACT = re.compile(r"^\s*(?P<key>[A-Za-z_ ]{1,32}?)\s*[:=]\s*(?P<value>.*?)\s*$")


@dataclass(frozen=True)
class HeadLine:
    """A line near the top: its number from 1, its offset in the file, its text."""

    number: int
    offset: int
    text: str


@dataclass(frozen=True)
class SplitLine:
    """A line and its cells."""

    line: HeadLine
    cells: tuple[str, ...]


@dataclass(frozen=True)
class Heading:
    """Rows of words above the numbers. ``names`` and ``units`` are ``None`` where there is no such
    row; ``preamble`` are the lines above both; ``rows`` are the first rows of numbers.
    """

    preamble: tuple[HeadLine, ...]
    names: tuple[str, ...] | None
    units: tuple[str, ...] | None
    rows: tuple[SplitLine, ...]


def head_lines(plain: bytes, encoding: str) -> tuple[list[str], list[HeadLine]]:
    """Header lines that begin with ``#``, which end where numbers begin, and the other lines down
    to ``SAMPLE_ROWS`` rows of numbers.
    """
    comments: list[str] = []
    lines: list[HeadLine] = []
    offset = number = rows_of_numbers = 0
    while offset < len(plain) and number < HEAD_LINES and rows_of_numbers < SAMPLE_ROWS:
        end = plain.find(b"\n", offset)
        end = len(plain) if end < 0 else end
        text = decode_line(plain[offset:end], encoding)
        number += 1
        comment = text.strip().strip('"').lstrip()
        if comment.startswith("#") and not rows_of_numbers:
            comments.append(comment.lstrip("#"))
        elif text.strip():
            lines.append(HeadLine(number, offset, text))
            rows_of_numbers += looks_like_numbers(text)
        offset = end + 1
    return comments, lines


def line_above_numbers(lines: Sequence[HeadLine]) -> str:
    """The last line above the first row of numbers, or empty."""
    above = ""
    for line in lines:
        if looks_like_numbers(line.text):
            break
        above = line.text
    return above


def find_heading(lines: Sequence[HeadLine], delimiter: str, decimal: str) -> Heading:
    """Part the lines near the top into preamble, names, units and rows of numbers.

    Raises
    ------
    CaptureRefused
        No row of numbers; a row of text amid rows of numbers; names that do not fit the rows.
    """
    split = [SplitLine(line, tuple(split_row(line.text, delimiter))) for line in lines]
    numbers = (index for index, row in enumerate(split) if not _is_words(row.cells, decimal))
    first = next(numbers, None)
    if first is None:
        raise CaptureRefused("The file holds no row of numbers.")
    above, rows = split[:first], tuple(split[first:])
    units: tuple[str, ...] | None = None
    if len(above) > 1 and _is_units_row(above[-1].cells):
        units = stripped(above.pop().cells)
    names = stripped(above.pop().cells) if above else None
    if names is not None:
        _refuse_second_names(above, names)
        names = _names_for(rows, names)
    return Heading(tuple(row.line for row in above), names, units, rows)


def header_words(lines: Sequence[str]) -> dict[str, str]:
    """Key and value of header lines; a key given twice with two values is refused."""
    words: dict[str, str] = {}
    for line in lines:
        fact = _HEADER_FACT.match(line.strip().strip('"').rstrip(";,\t "))
        if fact is None:
            continue
        key = fact["key"].strip().lower().replace(" ", "_")
        value = fact["value"].strip().strip('"')
        if key in KEYS and words.get(key, value) != value:
            raise CaptureRefused(
                f"The header says {key} twice: {quoted(words[key])} and {quoted(value)}."
            )
        words[key] = value
    return words


def _is_words(cells: Sequence[str], decimal: str) -> bool:
    """A row of words, also where some columns are called 1, 2, 3 beside one with a known name."""
    if is_words_row(cells, decimal):
        return True
    numbered = [cell for cell in cells if _CHANNEL_NUMBER.match(cell.strip())]
    words = [cell for cell in cells if cell not in numbered]
    return is_words_row(words, decimal) and any(is_known_label(word) for word in words)


def stripped(cells: Sequence[str]) -> tuple[str, ...]:
    """Cells without the blanks round them."""
    return tuple(cell.strip() for cell in cells)


def _refuse_second_names(above: Sequence[SplitLine], names: Sequence[str]) -> None:
    """A row above the names that has as many cells is a table of words."""
    for row in above:
        if len(row.cells) == len(names) > 1:
            raise CaptureRefused(
                f"Line {row.line.number + 1} holds text ({quoted(names[0])}) where numbers are"
                " expected."
            )


def _names_for(rows: Sequence[SplitLine], names: tuple[str, ...]) -> tuple[str, ...]:
    """Names in the number of the columns: a delimiter at a line's end makes an empty cell more."""
    count = len(rows[0].cells)
    if len(names) == count + 1 and not names[-1]:
        return names[:-1]
    if len(names) == count - 1 and all(not row.cells[-1].strip() for row in rows):
        return (*names, "")
    if len(names) != count:
        columns = counted(len(names), "column", "columns")
        raise CaptureRefused(
            f"The row of names has {columns} and line {rows[0].line.number} has {count}."
            " If the numbers have a decimal comma, the columns must be parted by semicolons or"
            " tabs."
        )
    return names


def _is_units_row(cells: Sequence[str]) -> bool:
    filled = [cell for cell in cells if cell.strip(" -()[]")]
    units = [cell for cell in filled if find_unit(cell) is not None or is_counts(cell)]
    return bool(filled) and len(units) >= 0.5 * len(filled)
