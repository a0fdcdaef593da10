"""Bytes of a roster file become rows of text, or a sentence that says why not."""

import io
import zipfile
from datetime import date

import openpyxl
import pytest

from rentals.roster.reading import read_roster
from rentals.roster.sheet import (
    MAX_BYTES,
    MAX_ROWS,
    RosterUnreadable,
    cell_name,
    column_letters,
    tidy,
)

TABLE = "Name;E-Mail;Ort\nJürgen Größe;j@strings.example;Köln\n"


def rows_of(content: bytes) -> list[tuple[str, ...]]:
    return [row.cells for row in read_roster(content).rows]


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp1252"]
)
def test_every_usual_encoding_gives_the_same_letters(encoding: str) -> None:
    assert rows_of(TABLE.encode(encoding))[1] == ("Jürgen Größe", "j@strings.example", "Köln")


def test_a_guessed_code_page_is_said() -> None:
    assert any("Windows" in note for note in read_roster(TABLE.encode("cp1252")).notes)
    assert not any("Windows" in note for note in read_roster(TABLE.encode()).notes)


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_delimiters_are_found_by_what_is_alike(delimiter: str) -> None:
    text = (
        f"Name{delimiter}E-mail\nAda Test{delimiter}a@x.example\nBea Test{delimiter}b@x.example\n"
    )
    assert rows_of(text.encode())[2] == ("Bea Test", "b@x.example")


def test_commas_inside_cells_do_not_win_over_semicolons() -> None:
    text = "Name;Address;E-mail\nA;Lane 1, Town;a@x.example\nB;Lane 2, Town;b@x.example\n"
    assert rows_of(text.encode())[1] == ("A", "Lane 1, Town", "a@x.example")


def test_quoted_cells_keep_line_breaks_and_quotes_and_rows_are_numbered_as_a_spreadsheet_does() -> (
    None
):
    # RFC 4180 section 2: quotes around a cell with a line break, a quote inside is doubled.
    text = (
        'Name,Street,E-mail\r\n"Vi ""Vio"" Ola","Bow Lane 1\r\nFlat'
        ' 2",v@x.example\r\nLast,L,l@x.example\r\n'
    )
    sheet = read_roster(text.encode())
    assert sheet.rows[1].cells == ('Vi "Vio" Ola', "Bow Lane 1\nFlat 2", "v@x.example")
    assert sheet.rows[2].number == 3


def test_an_announced_separator_is_believed_and_still_counted_as_a_row() -> None:
    sheet = read_roster(b"sep=;\nName;E-mail\nA;a@x.example\n")
    assert [row.number for row in sheet.rows] == [2, 3]


def test_blank_rows_are_skipped_but_keep_their_numbers() -> None:
    assert [row.number for row in read_roster(b"Name,E-mail\n\n,,\nA,a@x.example\n").rows] == [1, 4]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "empty"),
        (b" \r\n\t", "empty"),
        (b"\xff\xfe", "empty"),
        (b",,,\n,,\n", "empty"),
        (b"%PDF-1.7 ...", "PDF"),
        (b"\x89PNG\r\n\x1a\n" + bytes(50), "picture"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "old kind"),
        (bytes(range(256)) * 4, "not a table"),
        (b"PK\x03\x04 but no archive", "damaged"),
        (b'Name,E-mail\n"A,a@x.example\nB,b\nC,c\nD,d\nE,e\n', "never closed"),
        (b"Name,E-mail\n" + b'"' + b"x" * 200_000, "quotation mark"),
        (b",".join([b"x"] * 80) + b"\n", "60 are read"),
        (b"x" * (MAX_BYTES + 1), "larger than 4 MB"),
        (b"A,B\n" + b"x,y\n" * (MAX_ROWS + 1), "5,000 rows"),
    ],
)
def test_what_cannot_be_read_is_refused_in_a_sentence(content: bytes, said: str) -> None:
    with pytest.raises(RosterUnreadable, match=said):
        read_roster(content)


def test_five_thousand_rows_are_read() -> None:
    content = b"Name,E-mail\n" + b"".join(b"P%d,p%d@x.example\n" % (n, n) for n in range(MAX_ROWS))
    assert len(read_roster(content).rows) == MAX_ROWS + 1


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


def test_cells_are_named_as_a_spreadsheet_names_them() -> None:
    assert [column_letters(n) for n in (0, 25, 26, 51, 52, 701, 702)] == [
        "A",
        "Z",
        "AA",
        "AZ",
        "BA",
        "ZZ",
        "AAA",
    ]
    assert cell_name(1, 7) == "B7"
    with pytest.raises(ValueError, match="-1"):
        column_letters(-1)


def test_invisible_characters_and_double_blanks_go() -> None:
    assert tidy("  A\u200bda \u00a0 Lovely\r\n\r\n x\x07 ") == "Ada Lovely\nx"
