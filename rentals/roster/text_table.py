"""Rosters as text: comma, semicolon or tab between cells, in any of the usual encodings."""

from __future__ import annotations

import codecs
import csv
import io
from collections import Counter
from dataclasses import replace

from .letters import ENCODINGS, likeliest
from .sheet import (
    MAX_BYTES,
    MAX_COLUMNS,
    MAX_ROWS,
    TOO_LARGE,
    TOO_MANY_ROWS,
    RosterSheet,
    RosterUnreadable,
    SheetRow,
    cell_name,
    checked_rows,
    tidy,
)

DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars"}
#: Longest first: the mark of UTF-32 begins with that of UTF-16.
_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_NOT_TEXT = "This is not a table of text. Save the roster as CSV or XLSX and send that."
_SAMPLE_RECORDS = 50


def read_text_table(content: bytes, letters: str = "") -> RosterSheet:
    """A sheet from the bytes of a CSV file; `letters` is an encoding that a person chose.

    Raises
    ------
    RosterUnreadable
        If the bytes are no text, a quotation mark is never closed, or the table is too long or too
        wide.
    """
    text, encoding = decode(content, letters)
    if not encoding:
        return _sheet_of(text, ())
    label = ENCODINGS.get(encoding, "Latin-1")
    note = f"The letters were read as {label}: look at names with accents."
    return replace(_sheet_of(text, (note,)), letters=encoding)


def read_pasted(text: str) -> RosterSheet:
    """A sheet from text that was pasted into a box: a spreadsheet copies its cells with tabs.

    Raises
    ------
    RosterUnreadable
        As for a file, `MAX_BYTES` included.
    """
    if len(text.encode("utf-8", "replace")) > MAX_BYTES:
        raise RosterUnreadable(TOO_LARGE)
    return _sheet_of(text, (), delimiter="\t" if _tabs_part_cells(text) else "")


def _tabs_part_cells(text: str) -> bool:
    """Whether every line has as many tabs: then commas belong to the cells."""
    tabs = {line.count("\t") for line in text.splitlines() if line.strip()}
    return len(tabs) == 1 and tabs != {0}


def _sheet_of(text: str, notes: tuple[str, ...], *, delimiter: str = "") -> RosterSheet:
    text, announced = _without_separator_line(text)
    delimiter = announced or delimiter or guess_delimiter(text)
    rows = _records(text, delimiter, first=2 if announced else 1)
    return RosterSheet(
        checked_rows(rows), (*notes, f"Cells are parted by {DELIMITERS[delimiter]}.")
    )


def decode(content: bytes, letters: str = "") -> tuple[str, str]:
    """Text of a file, and the encoding where that is not certain: a byte order mark is believed
    first, then UTF-8; of what is left the likeliest is taken, or the one chosen.
    """
    for mark, encoding in _MARKS:
        if content.startswith(mark):
            return _decoded(content[len(mark) :], encoding), ""
    if encoding := _utf16_without_mark(content):
        return _decoded(content, encoding), ""
    if b"\0" in content or _control_share(content) > 0.02:
        raise RosterUnreadable(_NOT_TEXT)
    if not letters:
        try:
            return content.decode("utf-8"), ""
        except UnicodeDecodeError:
            letters = likeliest(content)
    return _decoded(content, letters), letters


def _decoded(content: bytes, encoding: str) -> str:
    try:
        return content.decode(encoding)
    except UnicodeDecodeError:
        raise RosterUnreadable(_NOT_TEXT) from None


def guess_delimiter(text: str) -> str:
    """The delimiter that gives the first records the most alike number of cells above one; a comma
    if none does.
    """
    best, best_score = ",", (0, 0)
    for delimiter in DELIMITERS:
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
        widths: Counter[int] = Counter()
        try:
            for _, record in zip(range(_SAMPLE_RECORDS), reader, strict=False):
                widths[len(record)] += 1
        except csv.Error:
            continue
        alike = max((count, width) for width, count in widths.items()) if widths else (0, 0)
        score = alike if alike[1] > 1 else (0, 0)
        if score > best_score:
            best, best_score = delimiter, score
    return best


def _records(text: str, delimiter: str, *, first: int) -> list[SheetRow]:
    rows: list[SheetRow] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    try:
        for number, record in enumerate(reader, start=first):
            if len(record) > MAX_COLUMNS and any(record[MAX_COLUMNS:]):
                raise RosterUnreadable(
                    f"Row {number} has {len(record)} cells; up to {MAX_COLUMNS} are read."
                )
            if len(rows) > 4 * MAX_ROWS:
                raise RosterUnreadable(TOO_MANY_ROWS)
            rows.append(SheetRow(number, tuple(tidy(cell) for cell in record[:MAX_COLUMNS])))
    except csv.Error:
        raise RosterUnreadable(
            f"Row {len(rows) + first} cannot be read: a cell is too long. A quotation mark may"
            " never be closed there."
        ) from None
    _refuse_open_quote(text, rows)
    return rows


def _refuse_open_quote(text: str, rows: list[SheetRow]) -> None:
    """An opening quotation mark without its partner swallows the rest of the file in silence; say
    where.
    """
    if text.count('"') % 2 == 0 or not rows:
        return
    last = rows[-1]
    for column, cell in enumerate(last.cells):
        if cell.count("\n") > 2:
            raise RosterUnreadable(
                f"The quotation mark that opens in cell {cell_name(column, last.number)} is never"
                " closed. Close or remove it and send the table again."
            )


def _without_separator_line(text: str) -> tuple[str, str]:
    """Spreadsheets may announce the delimiter in a first line of its own, ``sep=;``."""
    line, _, rest = text.partition("\n")
    line = line.strip().strip('"')
    if line.lower().startswith("sep=") and line[4:] in DELIMITERS:
        return rest, line[4:]
    return text, ""


def _utf16_without_mark(content: bytes) -> str:
    """Western text in UTF-16 has a NUL in nearly every other byte, on the side that tells the byte
    order.
    """
    head = content[:2000]
    half = len(head) // 2
    if half < 4:
        return ""
    if head[1::2].count(0) > 0.6 * half and head[0::2].count(0) == 0:
        return "utf-16-le"
    if head[0::2].count(0) > 0.6 * half and head[1::2].count(0) == 0:
        return "utf-16-be"
    return ""


def _control_share(content: bytes) -> float:
    head = content[:4000]
    odd = sum(1 for byte in head if byte < 32 and byte not in b"\t\n\r\x0b\x0c\x1a")
    return odd / len(head) if head else 0.0
