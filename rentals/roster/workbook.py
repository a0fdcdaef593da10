"""Rosters as XLSX workbooks, read cell by cell; sizes are judged before anything is unpacked."""

from __future__ import annotations

import datetime as dt
import io
import re
import warnings
import zipfile
from collections.abc import Iterator
from typing import Any

import defusedxml  # noqa: F401  without it openpyxl would read hostile XML
import openpyxl

from .sheet import (
    MAX_COLUMNS,
    MAX_ROWS,
    RosterSheet,
    RosterUnreadable,
    SheetRow,
    cell_name,
    checked_rows,
    tidy,
)

MAX_UNPACKED = 12 * 1024 * 1024
MAX_ENTRIES = 1_000
MAX_SHEETS = 50
# : Rows looked at: gaps are allowed, but an empty sheet that claims a million rows is not walked to
# its end.
_LAST_ROW = 4 * MAX_ROWS
_BROKEN = (
    "The workbook cannot be read; it may be damaged. Open it in a spreadsheet program, save it"
    " again and send that."
)
_ZEROS = re.compile(r"0{2,12}")


def read_workbook(content: bytes) -> RosterSheet:
    """The first sheet that holds anything, as text.

    Raises
    ------
    RosterUnreadable
        If the file is no workbook, is damaged, hostile, or larger than can be read.
    """
    _judge_container(content)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return _first_filled_sheet(content)
    except (RosterUnreadable, MemoryError):
        raise
    except Exception as broken:
        # Whatever a damaged or hostile workbook makes the reader stumble over, the answer to the
        # sender is the same.
        raise RosterUnreadable(_BROKEN) from broken


def _judge_container(content: bytes) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as container:
            entries = container.infolist()
            kind = (
                container.read("mimetype")[:80] if "mimetype" in container.namelist()[:1] else b""
            )
    except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError, RuntimeError, EOFError):
        raise RosterUnreadable(_BROKEN) from None
    if kind.startswith(b"application/vnd.oasis.opendocument"):
        raise RosterUnreadable(
            "This is an OpenDocument file. Save it as XLSX or CSV and send that."
        )
    if len(entries) > MAX_ENTRIES or sum(entry.file_size for entry in entries) > MAX_UNPACKED:
        raise RosterUnreadable(
            "The workbook unpacks to far more than a roster needs, so it was not opened."
        )
    if not any(entry.filename.lower() == "xl/workbook.xml" for entry in entries):
        raise RosterUnreadable(
            "This is a packed file, but not an XLSX workbook. Save the roster as XLSX or CSV."
        )
    if any(entry.flag_bits & 1 for entry in entries):
        raise RosterUnreadable(
            "The workbook is locked with a password. Save it without one and send that."
        )


def _first_filled_sheet(content: bytes) -> RosterSheet:
    values = openpyxl.load_workbook(
        io.BytesIO(content), read_only=True, data_only=True, keep_links=False
    )
    formulas = openpyxl.load_workbook(
        io.BytesIO(content), read_only=True, data_only=False, keep_links=False
    )
    try:
        names = values.sheetnames
        if len(names) > MAX_SHEETS:
            raise RosterUnreadable(
                f"The workbook has {len(names)} sheets; up to {MAX_SHEETS} are read."
            )
        visible = [
            name for name in names if getattr(values[name], "sheet_state", "visible") == "visible"
        ]
        for name in visible:
            if not hasattr(values[name], "iter_rows"):
                continue  # a sheet that is only a chart
            rows = list(_rows(values[name], formulas[name]))
            if any(any(row.cells) or row.troubles for row in rows):
                others = [sheet_name for sheet_name in names if sheet_name != name]
                return RosterSheet(checked_rows(rows), _sheet_note(name, others))
        raise RosterUnreadable("The workbook is empty: no visible sheet has anything in it.")
    finally:
        values.close()
        formulas.close()


def _sheet_note(name: str, others: list[str]) -> tuple[str, ...]:
    if not others:
        return ()
    rest = ", ".join(others[:5]) + (" and more" if len(others) > 5 else "")
    return (f"The sheet “{name}” was read; not read: {rest}.",)


def _rows(values: Any, formulas: Any) -> Iterator[SheetRow]:
    """Rows up to one more than may be imported, so that the count of all of them can be refused."""
    reach = {"max_row": _LAST_ROW, "max_col": MAX_COLUMNS}
    filled = 0
    pairs = zip(values.iter_rows(**reach), formulas.iter_rows(**reach), strict=False)
    for number, (cells, sources) in enumerate(pairs, start=1):
        row = _row(number, cells, sources)
        filled += bool(any(row.cells) or row.troubles)
        yield row
        if filled > MAX_ROWS + 1:
            return


def _row(number: int, cells: tuple[Any, ...], sources: tuple[Any, ...]) -> SheetRow:
    texts, troubles = [], {}
    for column, (cell, source) in enumerate(zip(cells, sources, strict=False)):
        text, trouble = _cell_text(cell)
        if cell.value is None and source.data_type == "f":
            trouble = (
                "holds a formula whose result is not stored: save the workbook in a spreadsheet"
                " program first"
            )
        if trouble:
            troubles[column] = f"Cell {cell_name(column, number)} {trouble}."
        texts.append(text)
    return SheetRow(number, tuple(texts), troubles)


def _cell_text(cell: Any) -> tuple[str, str]:
    """Text of a cell, and what is wrong with it where it is no text: ``("2026-05-01", "holds a date
    ...")``.
    """
    value = cell.value
    if value is None:
        return "", ""
    if isinstance(value, bool):
        return ("yes" if value else "no"), ""
    if isinstance(value, int | float):
        return _number_text(value, str(getattr(cell, "number_format", "") or "")), ""
    if isinstance(value, dt.datetime | dt.date | dt.time):
        # A phone number or postcode such as 1-2 that the spreadsheet took for a day cannot be
        # guessed back.
        day = (
            value.date() if isinstance(value, dt.datetime) and value.time() == dt.time() else value
        )
        return (
            day.isoformat(),
            f"holds a date ({day.isoformat()}) where text is expected: type it in here",
        )
    if cell.data_type == "e":
        return "", f"holds the error {value}"
    return tidy(str(value)), ""


def _number_text(value: int | float, number_format: str) -> str:
    """A number as a person would type it; a format of zeros (``00000``) gives leading zeros
    back.
    """
    if isinstance(value, float) and not value.is_integer():
        return repr(value)
    text = str(int(value))
    return (
        text.zfill(len(number_format)) if _ZEROS.fullmatch(number_format) and value >= 0 else text
    )
