"""CSV, TSV and other texts of numbers, opened as a raw table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from readiness.signal.errors import CaptureRefused

from .careful_rows import read_with_care
from .clock import as_seconds
from .column_map import ColumnMap
from .delimiters import Dialect, find_dialect
from .encoding import plain_text
from .footer import without_footer
from .heading import (
    NO_NUMBERS,
    Heading,
    HeadLine,
    find_heading,
    head_lines,
    header_words,
    line_above_numbers,
    names_in_comment,
    stripped,
)
from .limits import MAX_VALUES, check_channels, check_values
from .number_marks import plain_numbers
from .number_rows import NumberRows, read_clean
from .raw_table import FormatReader, RawColumn, RawTable, Readings
from .units import split_label

ROWS_SHOWN = 8


def open_text(data: bytes, column_map: ColumnMap | None) -> RawTable:
    """Find out how a text is written and what stands above its numbers.

    Raises
    ------
    CaptureRefused
        Not a text of numbers, or one whose columns cannot be told.
    """
    plain, encoding = plain_text(data)
    stamped = as_seconds(plain_numbers(without_footer(plain)))
    plain = stamped.plain
    top = head_lines(plain, encoding)
    dialect = _dialect_of(top.lines, column_map)
    heading = find_heading(top.lines, dialect.delimiter, dialect.decimal)
    names = heading.names or names_in_comment(top.nearest, heading, dialect.delimiter)
    heading = replace(heading, names=names)
    first = heading.rows[0]
    rows = NumberRows(
        data=plain,
        offset=first.line.offset,
        first_line=first.line.number,
        count=len(first.cells),
        delimiter=dialect.delimiter,
        decimal=dialect.decimal,
        names=heading.names,
        remarks=_remarks(heading),
    )
    preamble = [line.text for line in heading.preamble]
    return RawTable(
        format="text",
        columns=_columns_of(heading, rows.count, stamped.kinds(dialect.delimiter)),
        words=header_words(top.comments, preamble),
        load=lambda: _read(rows),
        has_names=heading.names is not None,
        ambiguous_row=first.line.text if dialect.undecided else "",
        first_line=rows.first_line,
        first_rows=tuple(stripped(row.cells) for row in heading.rows[:ROWS_SHOWN]),
        delimiter=dialect.delimiter,
        decimal=dialect.decimal,
        encoding=encoding,
    )


TEXT_READER = FormatReader(recognises=lambda head, name: True, open_table=open_text)


def _dialect_of(lines: Sequence[HeadLine], column_map: ColumnMap | None) -> Dialect:
    numeric = [line.text for line in lines if line.numeric]
    if not numeric:
        raise CaptureRefused(NO_NUMBERS)
    above = line_above_numbers(lines)
    if column_map is None:
        return find_dialect(numeric, above)
    return find_dialect(numeric, above, column_map.delimiter, column_map.decimal)


def _columns_of(heading: Heading, count: int, stamps: Sequence[str]) -> tuple[RawColumn, ...]:
    """Columns as the heading names them; one of clock times counts seconds, however called."""
    labels = heading.names or ("",) * count
    below = (*(heading.units or ()), *("",) * count)
    columns = [
        _column_of(label, unit.strip("()[] ")) for label, unit in zip(labels, below, strict=False)
    ]
    for index, kind in enumerate(stamps[:count]):
        if kind == "time":
            columns[index] = RawColumn(columns[index].label, "time", "s")
        elif kind == "date":
            columns[index] = RawColumn(columns[index].label, "date", "date")
    return tuple(columns)


def _column_of(label: str, unit_below: str) -> RawColumn:
    name, unit = split_label(label)
    if unit:
        return RawColumn(label, name, unit, unit_below)
    return RawColumn(label, name, unit_below)


def _remarks(heading: Heading) -> frozenset[int]:
    """Columns that begin empty, where a program writes a word beside a sample now and then."""
    columns = zip(*(row.cells for row in heading.rows), strict=False)
    empty = {index for index, cells in enumerate(columns) if not any(map(str.strip, cells))}
    return frozenset(empty if len(heading.rows) >= ROWS_SHOWN else ())


def _read(rows: NumberRows) -> Readings:
    """All numbers of a text; NaN where a cell is empty or not finite."""
    check_channels(rows.count)
    # Most texts are too short to hold too many, and then their lines need not be counted.
    if (len(rows.data) - rows.offset + 1) * rows.count > MAX_VALUES:
        check_values(rows.lines * rows.count)
    values = read_clean(rows)
    if values is None:
        values = read_with_care(rows)
    finite = np.isfinite(values)
    if not finite.all():
        values[~finite] = np.nan
    return Readings(tuple(values.T))
