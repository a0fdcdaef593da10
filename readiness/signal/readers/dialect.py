"""How a text capture is written: encoding, delimiter, decimal mark, header lines, names row, units
row.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Sequence
from dataclasses import dataclass

from readiness.signal.errors import CaptureRefused

from .cells import is_words_row, looks_like_numbers, split_row
from .delimiters import find_delimiter
from .facts import KEYS
from .quoting import quoted
from .sniff import refuse_binary
from .units import find_unit, is_counts

MAX_LINE = 4096
"""Bytes in a line: 64 columns of 25 characters, and room to spare."""
HEAD_LINES = 200
SAMPLE_LINES = 40
_FACT = re.compile(r"^\s*(?P<key>[A-Za-z_ ]{1,32}?)\s*[:=]\s*(?P<value>.*?)\s*$")


@dataclass(frozen=True)
class Sheet:
    """A text capture, opened: everything but its numbers.

    ``data`` has ``\\n`` line ends, none at its end, and one byte per ASCII character; the numbers
    begin at offset ``body``, in line ``first_line`` (from 1). ``names`` and ``units`` are ``None``
    where the file has no such row.
    """

    data: bytes
    encoding: str
    delimiter: str
    decimal: str
    words: dict[str, str]
    names: tuple[str, ...] | None
    units: tuple[str, ...] | None
    body: int
    first_line: int
    count: int
    sample: tuple[str, ...]
    undecided: bool


@dataclass(frozen=True)
class _Line:
    number: int
    offset: int
    text: str


def open_sheet(data: bytes, delimiter: str = "", decimal: str = "") -> Sheet:
    """Find out how a text is written. ``delimiter`` and ``decimal`` decide where the text leaves
    them open.

    Raises
    ------
    CaptureRefused
        Not a text of numbers, or one whose columns cannot be told.
    """
    plain, encoding = _normal(data)
    check_lines(plain)
    comments, rows = _head(plain, encoding)
    numeric = [row.text for row in rows if looks_like_numbers(row.text)]
    if not numeric:
        raise CaptureRefused("The file holds no row of numbers.")
    words_before = _text_before_numbers(rows)
    dialect = find_delimiter(numeric, words_before, delimiter, decimal)
    split = [(row, split_row(row.text, dialect.delimiter)) for row in rows]
    heading, first = _heading(split, dialect.decimal)
    first_row, first_cells = split[first]
    preamble, names, units = _names_and_units(heading)
    count = len(first_cells)
    if names is not None and len(names) == count + 1 and not names[-1]:
        names = names[:-1]
    elif (
        names is not None
        and len(names) == count - 1
        and all(_ends_empty(cells) for _, cells in split[first:])
    ):
        names = (*names, "")
    if names is not None and len(names) != count:
        raise CaptureRefused(
            f"The row of names has {len(names)} columns and line {first_row.number} has {count}. If"
            " the numbers have a decimal comma, the columns must be parted by semicolons or tabs."
        )
    words = _words([*comments, *(row.text for row in preamble)])
    sample = tuple(row.text for row, _ in split[first : first + 8])
    return Sheet(
        plain,
        encoding,
        dialect.delimiter,
        dialect.decimal,
        words,
        names,
        units,
        first_row.offset,
        first_row.number,
        count,
        sample,
        dialect.undecided,
    )


def _ends_empty(cells: Sequence[str]) -> bool:
    return not cells[-1].strip()


def check_lines(data: bytes) -> None:
    """Refuse a text with a line above ``MAX_LINE`` bytes: a longer one must hold a whole block
    without a line end.
    """
    half = MAX_LINE // 2
    for start in range(0, len(data) - half, half):
        if data.find(b"\n", start, start + half) < 0 and _line_length(data, start) > MAX_LINE:
            raise CaptureRefused(
                f"A line is longer than {MAX_LINE} characters: it is no table with one row a"
                " sample."
            )


def _line_length(data: bytes, inside: int) -> int:
    begin = data.rfind(b"\n", max(0, inside - MAX_LINE - 1), inside)
    begin = max(0, inside - MAX_LINE - 1) if begin < 0 else begin
    end = data.find(b"\n", inside, inside + MAX_LINE + 1)
    return (min(len(data), inside + MAX_LINE + 1) if end < 0 else end) - begin - 1


def _normal(data: bytes) -> tuple[bytes, str]:
    """Bytes with ``\\n`` line ends in an ASCII-compatible encoding, and what the file was encoded
    in.
    """
    name, size = _byte_order_mark(data)
    if name.startswith("utf-16"):
        try:
            plain = data[size:].decode(name).encode("utf-8")
        except UnicodeError as error:
            raise CaptureRefused(
                "The file begins like UTF-16 text and is damaged further on."
            ) from error
    else:
        plain = data[size:] if size else data
    refuse_binary(plain)
    if b"\r" in plain:
        plain = plain.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    return plain.rstrip(b"\n"), name


def _byte_order_mark(data: bytes) -> tuple[str, int]:
    for mark, name in (
        (codecs.BOM_UTF8, "utf-8"),
        (codecs.BOM_UTF16_LE, "utf-16-le"),
        (codecs.BOM_UTF16_BE, "utf-16-be"),
    ):
        if data.startswith(mark):
            return name, len(mark)
    head = data[:400]
    if (
        head[1:2] == b"\x00"
        and head[1::2].count(0) > 0.9 * len(head[1::2])
        and not head[::2].count(0)
    ):
        return "utf-16-le", 0
    if (
        head[:1] == b"\x00"
        and head[::2].count(0) > 0.9 * len(head[::2])
        and not head[1::2].count(0)
    ):
        return "utf-16-be", 0
    return "utf-8", 0


def _head(data: bytes, encoding: str) -> tuple[list[str], list[_Line]]:
    """Header lines and the first rows; header lines stand above the first row of numbers."""
    comments: list[str] = []
    rows: list[_Line] = []
    offset, number, numbers = 0, 0, 0
    while offset < len(data) and number < HEAD_LINES and numbers < SAMPLE_LINES:
        end = data.find(b"\n", offset)
        end = len(data) if end < 0 else end
        text = _decode(data[offset:end], encoding)
        number += 1
        if text.strip().strip('"').lstrip().startswith("#") and not numbers:
            comments.append(text.strip().strip('"').lstrip().lstrip("#"))
        elif text.strip():
            rows.append(_Line(number, offset, text))
            numbers += looks_like_numbers(text)
        offset = end + 1
    return comments, rows


def _decode(line: bytes, encoding: str) -> str:
    try:
        return line.decode("utf-8")
    except UnicodeDecodeError:
        if encoding.startswith("utf-16"):
            raise CaptureRefused("The file holds damaged UTF-16 text.") from None
        return line.decode("latin-1")


def _text_before_numbers(rows: Sequence[_Line]) -> str:
    last = ""
    for row in rows:
        if looks_like_numbers(row.text):
            return last
        last = row.text
    return last


def _heading(
    split: Sequence[tuple[_Line, list[str]]], decimal: str
) -> tuple[list[tuple[_Line, list[str]]], int]:
    """Rows of words above the first row with a number, and the index of that row."""
    for index, (_, cells) in enumerate(split):
        if not is_words_row(cells, decimal):
            return list(split[:index]), index
    raise CaptureRefused("The file holds no row of numbers.")


def _names_and_units(
    heading: Sequence[tuple[_Line, list[str]]],
) -> tuple[list[_Line], tuple[str, ...] | None, tuple[str, ...] | None]:
    if not heading:
        return [], None, None
    units: tuple[str, ...] | None = None
    rest = list(heading)
    if len(rest) > 1 and _is_units_row(rest[-1][1]):
        units = tuple(cell.strip() for cell in rest.pop()[1])
    names = tuple(cell.strip() for cell in rest.pop()[1])
    for line, cells in rest:
        if len(cells) == len(names) > 1:
            raise CaptureRefused(
                f"Line {line.number + 1} holds text ({quoted(names[0])}) where numbers are"
                " expected."
            )
    return [line for line, _ in rest], names, units


def _is_units_row(cells: Sequence[str]) -> bool:
    known = [
        find_unit(cell) is not None or is_counts(cell) for cell in cells if cell.strip(" -()[]")
    ]
    return bool(known) and sum(known) >= 0.5 * len(known)


def _words(lines: Sequence[str]) -> dict[str, str]:
    """Key and value of the header lines; a key said twice with two values is refused."""
    words: dict[str, str] = {}
    for line in lines:
        fact = _FACT.match(line.strip().strip('"').rstrip(";,\t "))
        if fact is None:
            continue
        key, value = fact["key"].strip().lower().replace(" ", "_"), fact["value"].strip().strip('"')
        if key in KEYS and words.get(key, value) != value:
            raise CaptureRefused(
                f"The header says {key} twice: {quoted(words[key])} and {quoted(value)}."
            )
        words[key] = value
    return words
