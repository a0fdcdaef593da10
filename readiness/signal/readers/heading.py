"""What stands above the numbers of a text: header lines, a row of names, a row of units."""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass

from readiness.signal.counts import counted
from readiness.signal.errors import CaptureRefused

from .cells import NOT_FINITE, is_number, is_words_row, looks_like_numbers, split_row
from .encoding import decode_line
from .facts import KEYS, parse_facts
from .quoting import quoted
from .roles import is_known_label
from .units import find_unit, is_ambiguous, is_counts

HEAD_LINES = 200
SAMPLE_ROWS = 40
NO_NUMBERS = (
    "The file holds no row of numbers. Export the samples themselves as a table: one row a sample,"
    " one column a channel."
)
ROWS_THAT_SHOW = 3
"""So many rows of nothing but numbers, one below the other, are where a table begins."""
NEVER_FOREIGN = ("resolution", "range")
"""Words that other programs use for bits, or for a display."""
OUR_MARK = "#"
COMMENT_MARKS = (OUR_MARK, "%")
_CHANNEL_NUMBER = re.compile(r"\d{1,3}\Z", re.ASCII)
_SECTION = re.compile(r"\[[^\[\]]*\]\Z")
_HEADER_FACT = re.compile(r"^\s*(?P<key>[A-Za-z_ ]{1,32}?)\s*(?P<mark>[:=])\s*(?P<value>.*?)\s*$")


@dataclass(frozen=True)
class HeadLine:
    """A line near the top: its number from 1, its offset in the file, its text, and whether that
    could be a row of numbers.
    """

    number: int
    offset: int
    text: str
    numeric: bool


@dataclass(frozen=True)
class SplitLine:
    """A line and its cells."""

    line: HeadLine
    cells: tuple[str, ...]


@dataclass(frozen=True)
class Top:
    """The lines near the top: ``comments`` are those behind a ``#``; ``nearest`` is the last line
    that any program would skip (``#`` or ``%``), without its mark; ``lines`` are all others.
    """

    comments: tuple[str, ...]
    nearest: str
    lines: tuple[HeadLine, ...]


@dataclass(frozen=True)
class Heading:
    """Rows of words above the numbers. ``names`` and ``units`` are ``None`` where there is no such
    row; ``preamble`` are the lines above both; ``rows`` are the first rows of numbers.
    """

    preamble: tuple[HeadLine, ...]
    names: tuple[str, ...] | None
    units: tuple[str, ...] | None
    rows: tuple[SplitLine, ...]


def head_lines(plain: bytes, encoding: str) -> Top:
    """Header lines that begin with ``#`` or ``%``, which end where numbers begin, and the other
    lines down to ``SAMPLE_ROWS`` rows of numbers.
    """
    comments: list[str] = []
    lines: list[HeadLine] = []
    nearest = ""
    offset = number = rows_of_numbers = 0
    while offset < len(plain) and number < HEAD_LINES and rows_of_numbers < SAMPLE_ROWS:
        end = plain.find(b"\n", offset)
        end = len(plain) if end < 0 else end
        text = decode_line(plain[offset:end], encoding)
        number += 1
        comment = text.strip().strip('"').lstrip()
        if comment.startswith(COMMENT_MARKS) and not rows_of_numbers:
            nearest = comment.lstrip("#% ")
            if comment.startswith(OUR_MARK):
                comments.append(comment.lstrip(OUR_MARK))
        elif text.strip():
            lines.append(HeadLine(number, offset, text, looks_like_numbers(text)))
            rows_of_numbers += lines[-1].numeric
        offset = end + 1
    return Top(tuple(comments), nearest, tuple(lines))


def line_above_numbers(lines: Sequence[HeadLine]) -> str:
    """The last line above the first row of numbers, or empty."""
    above = ""
    for line in lines:
        if line.numeric:
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
    first = _first_of_numbers(split, decimal)
    above, rows = split[:first], tuple(split[first:])
    units: tuple[str, ...] | None = None
    if len(above) > 1 and _is_units_row(above[-1].cells):
        units = stripped(above.pop().cells)
    names: tuple[str, ...] | None = None
    if above and (
        _names_columns(above[-1], rows, decimal) or (units and _are_labels(above[-1], units))
    ):
        names = stripped(above.pop().cells)
        _refuse_second_names(above, names)
        names = _names_for(rows, names)
    return Heading(tuple(row.line for row in above), names, units, rows)


def _first_of_numbers(split: Sequence[SplitLine], decimal: str) -> int:
    """Where the table of numbers begins: behind settings that a program writes above it as a word
    and a number, and behind columns that are called 1, 2, 3.
    """
    numbers = (index for index, row in enumerate(split) if not _is_words(row.cells, decimal))
    first = next(numbers, None)
    if first is None:
        raise CaptureRefused(NO_NUMBERS)
    if _are_numbered_labels(split[first].cells, split[first + 1 :], decimal):
        return first + 1
    if _is_plain(split[first].cells, decimal) or is_number(split[first].cells[0].strip(), decimal):
        return first
    for index in range(first, len(split) - ROWS_THAT_SHOW + 1):
        rows = split[index : index + ROWS_THAT_SHOW]
        same = len({len(row.cells) for row in rows}) == 1
        if same and all(_is_plain(row.cells, decimal) for row in rows):
            return index
        if is_number(split[index].cells[0].strip(), decimal):
            break
    return first


def _is_plain(cells: Sequence[str], decimal: str) -> bool:
    """A row of nothing but numbers, of which some may lack."""
    filled = [cell.strip() for cell in cells if cell.strip()]
    numbers = [cell for cell in filled if is_number(cell, decimal) or cell.lower() in NOT_FINITE]
    return bool(filled) and len(numbers) == len(filled)


def _are_numbered_labels(cells: Sequence[str], below: Sequence[SplitLine], decimal: str) -> bool:
    """Columns called 1, 2, 3 (or, behind an empty name, 0, 1, 2) above numbers with decimals."""
    labels = [cell.strip() for cell in cells]
    counted_from = 1 if labels[0] else 0
    filled = [label for label in labels if label]
    unnamed = len(labels) - len(filled)
    if unnamed > (not labels[0]) or len(labels) < 2 or not below:
        return False
    starts = {str(number) for number in range(counted_from, 2)}
    if filled[0] not in starts or not all(label.isdecimal() for label in filled):
        return False
    steps = [int(b) - int(a) for a, b in itertools.pairwise(filled)]
    if any(step != 1 for step in steps):
        return False
    named = [index for index, label in enumerate(labels) if label]
    return all(
        any(decimal in row.cells[index] for row in below if index < len(row.cells))
        for index in named
    )


def _names_columns(above: SplitLine, rows: Sequence[SplitLine], decimal: str) -> bool:
    """Whether the line above the numbers names columns: not a setting, nor a sentence."""
    if len(above.cells) == 1 and _SECTION.match(above.cells[0].strip()):
        return False
    labels = _is_words(above.cells, decimal) or _are_numbered_labels(above.cells, rows, decimal)
    columns = len(rows[0].cells) - all(not row.cells[-1].strip() for row in rows)
    return labels and not len(above.cells) == 1 < columns


def _are_labels(above: SplitLine, units: Sequence[str]) -> bool:
    """Whether a row right above the units names their columns, some of them by a number."""
    cells = stripped(above.cells)
    words = [cell for cell in cells if not _CHANNEL_NUMBER.match(cell)]
    same = len(cells) == len(units) > len(words) > 0
    return same and not any(looks_like_numbers(cell) for cell in words)


def names_in_comment(nearest: str, heading: Heading, delimiter: str) -> tuple[str, ...] | None:
    """Names of columns in the comment right above the numbers, as array libraries write them: one
    for each column, and one of them known; else ``None``.
    """
    names = stripped(split_row(nearest, delimiter))
    in_number = len(names) == len(heading.rows[0].cells)
    known = any(is_known_label(name) for name in names)
    fact = _HEADER_FACT.match(nearest) and len(names) == 1
    untouched = not heading.preamble and heading.names is None and heading.units is None
    return names if in_number and known and untouched and not fact else None


def header_words(comments: Sequence[str], preamble: Sequence[str] = ()) -> dict[str, str]:
    """Key and value of header lines.

    Ours are the ``comments`` with a key of Kitdesk as it is written (``# rate_hz: 1000``); one
    given twice with two values is refused. Words of other programs that look like ours are taken
    where they can be meant so, and never refused: their ``Resolution: 12`` counts bits.
    """
    words: dict[str, str] = {}
    foreign: dict[str, str] = {}
    for line, is_comment in [*((line, True) for line in comments), *((x, False) for x in preamble)]:
        fact = _HEADER_FACT.match(line.strip().strip('"').rstrip(";,\t "))
        if fact is None:
            continue
        name, value = fact["key"].strip(), fact["value"].strip().strip('"')
        key = name.lower().replace(" ", "_")
        if key not in KEYS:
            words[key] = value
        elif is_comment and name == key and fact["mark"] == ":" and value[:1] != "=":
            if words.get(key, value) != value:
                raise CaptureRefused(
                    f"The header says {key} twice: {quoted(words[key])} and {quoted(value)}."
                    " Delete the line that is wrong."
                )
            words[key] = value
        elif _can_be_meant(key, value):
            foreign.setdefault(key, value)
    return {**foreign, **words}


def _can_be_meant(key: str, value: str) -> bool:
    """Whether a word of another program says what the key of that name says here."""
    if key in NEVER_FOREIGN or not value:
        return False
    if key == "unit":
        return find_unit(value) is not None or is_ambiguous(value)
    if key == "kit" and len(value.split()) != 1:
        return False
    try:
        parse_facts({key: value})
    except CaptureRefused:
        return False
    return True


def _is_words(cells: Sequence[str], decimal: str) -> bool:
    """A row of words, also where some columns are called 1, 2, 3 beside one with a known name."""
    if is_words_row(cells, decimal):
        return True
    numbered = [cell for cell in cells if _CHANNEL_NUMBER.match(cell.strip())]
    words = [cell for cell in cells if cell not in numbered]
    if not is_words_row(words, decimal):
        return False
    one_by_one = [str(number) for number in range(1, len(numbered) + 1)]
    in_order = len(numbered) > 1 and [cell.strip() for cell in numbered] == one_by_one
    return in_order or any(is_known_label(word) for word in words)


def stripped(cells: Sequence[str]) -> tuple[str, ...]:
    """Cells without the blanks round them."""
    return tuple(cell.strip() for cell in cells)


def _refuse_second_names(above: Sequence[SplitLine], names: Sequence[str]) -> None:
    """A row above the names that names time and signal itself: what was taken for names is text
    amid the numbers.
    """
    for row in above:
        known = sum(is_known_label(cell) for cell in row.cells)
        if len(row.cells) == len(names) > 1 and known > 1:
            raise CaptureRefused(
                f"Line {row.line.number + 1} holds text ({quoted(names[0])}) where numbers are"
                " expected. Export the samples alone, without marks in their rows."
            )


def _names_for(rows: Sequence[SplitLine], names: tuple[str, ...]) -> tuple[str, ...]:
    """Names in the number of the columns: a delimiter at a line's end makes an empty cell more."""
    count = len(rows[0].cells)
    if len(names) == count - 1 and _counts_rows([row.cells[0].strip() for row in rows]):
        return ("", *names)
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


def _counts_rows(cells: Sequence[str]) -> bool:
    """Whether the cells of a column count the rows from 0 or 1, as the index of a frame does."""
    begins = (0, 1) if len(cells) > 1 else ()
    return any(cells == [str(number + begin) for number in range(len(cells))] for begin in begins)


def _is_units_row(cells: Sequence[str]) -> bool:
    filled = [cell for cell in cells if cell.strip(" -()[]")]
    units = [cell for cell in filled if find_unit(cell) is not None or is_counts(cell)]
    return bool(filled) and len(units) >= 0.5 * len(filled)
