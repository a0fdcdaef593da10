"""Workbooks are read cell by cell, and hostile ones not at all."""

import io
import zipfile
from datetime import date

import openpyxl
import pytest

from rentals.roster.reading import read_roster
from rentals.roster.sheet import (
    MAX_ROWS,
    RosterUnreadable,
)

from .rosters import rows_of


def workbook(*rows: tuple, number_format: tuple[str, str] | None = None) -> openpyxl.Workbook:
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    if number_format:
        book.active[number_format[0]].number_format = number_format[1]
    return book


def saved(book: openpyxl.Workbook) -> bytes:
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def test_numbers_of_a_workbook_are_written_as_a_person_would() -> None:
    book = workbook(
        ("Name", "Phone", "PLZ"),
        ("A", 441632960961, 1067),
        ("B", 4.5, True),
        number_format=("C2", "00000"),
    )
    assert rows_of(saved(book))[1:] == [("A", "441632960961", "01067"), ("B", "4.5", "yes")]


def test_a_date_where_text_is_expected_is_named_with_its_cell() -> None:
    row = read_roster(saved(workbook(("Name", "House"), ("A", date(2026, 5, 1))))).rows[1]
    assert row.cells[1] == "2026-05-01"
    assert row.troubles[1].startswith("Cell B2 holds a date (2026-05-01)")


def test_a_formula_without_a_stored_result_is_named_with_its_cell() -> None:
    # openpyxl writes formulas without computing them, which is the case in question.
    row = read_roster(saved(workbook(("Name", "E-mail"), ("A", '=LOWER("A@X.EXAMPLE")')))).rows[1]
    assert "Cell B2 holds a formula whose result is not stored" in row.troubles[1]


def test_an_error_cell_is_named() -> None:
    book = workbook(("Name", "E-mail"), ("A", "#N/A"))
    book.active["B2"].data_type = "e"
    assert "Cell B2 holds the error #N/A" in read_roster(saved(book)).rows[1].troubles[1]


def test_the_first_visible_sheet_with_anything_is_read_and_the_others_named() -> None:
    book = workbook()
    hidden = book.create_sheet("Old")
    hidden.append(("Name", "E-mail"))
    hidden.sheet_state = "hidden"
    book.create_sheet("Spring").append(("Name", "E-mail", "City"))
    sheet = read_roster(saved(book))
    assert sheet.rows[0].cells == ("Name", "E-mail", "City")
    assert sheet.notes == ("The sheet “Spring” was read; not read: Sheet, Old.",)


def repacked(content: bytes, replaced: dict[str, bytes]) -> bytes:
    file = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(content)) as old,
        zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for entry in old.infolist():
            new.writestr(entry.filename, replaced.pop(entry.filename, old.read(entry)))
        for name, more in replaced.items():
            new.writestr(name, more)
    return file.getvalue()


GOOD = saved(workbook(("Name", "E-mail"), ("A", "a@x.example")))


SHEET = "xl/worksheets/sheet1.xml"


ENTITIES = b"""<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaaaaaaaa">
<!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>
<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1">
<c r="A1" t="inlineStr"><is><t>&b;</t></is></c></row></sheetData></worksheet>"""


OUTSIDE = ENTITIES.replace(
    b'<!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">', b'<!ENTITY b SYSTEM "file:///etc/hostname">'
)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (repacked(GOOD, {SHEET: ENTITIES}), "cannot be read"),
        (repacked(GOOD, {SHEET: OUTSIDE}), "cannot be read"),
        (repacked(GOOD, {SHEET: b"<worksheet"}), "cannot be read"),
        (repacked(GOOD, {"xl/workbook.xml": b"\0\1"}), "cannot be read"),
        (repacked(GOOD, {"xl/media/big.bin": bytes(60 * 1024 * 1024)}), "unpacks to far more"),
        (repacked(GOOD, {f"xl/x{n}": b"" for n in range(1200)}), "unpacks to far more"),
        (GOOD[: len(GOOD) // 2], "damaged"),
        (saved(workbook()), "empty"),
    ],
)
def test_hostile_and_broken_workbooks_are_refused_in_a_sentence(content: bytes, said: str) -> None:
    with pytest.raises(RosterUnreadable, match=said):
        read_roster(content)


def test_other_packed_files_are_told_apart() -> None:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
    with pytest.raises(RosterUnreadable, match="OpenDocument"):
        read_roster(file.getvalue())
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as archive:
        archive.writestr("word/document.xml", "<x/>")
    with pytest.raises(RosterUnreadable, match="not an XLSX"):
        read_roster(file.getvalue())


def test_a_sheet_that_claims_a_million_rows_is_not_walked_to_its_end() -> None:
    far = b"""<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>
    <row r="1"><c r="A1" t="inlineStr"><is><t>Name</t></is></c></row>
    <row r="999999999"><c r="A999999999" t="inlineStr"><is><t>far</t></is></c></row>
    </sheetData></worksheet>"""
    assert rows_of(repacked(GOOD, {SHEET: far})) == [("Name",)]


def test_too_many_rows_in_a_workbook() -> None:
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet()
    for number in range(MAX_ROWS + 2):
        sheet.append((f"P{number}", f"p{number}@x.example"))
    with pytest.raises(RosterUnreadable, match="5,000 rows"):
        read_roster(saved(book))
