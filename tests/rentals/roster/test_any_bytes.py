"""Whatever bytes arrive, a roster is read or refused in a sentence; nothing else happens."""

import io
import zipfile

import openpyxl
from hypothesis import given, settings
from hypothesis import strategies as st

from rentals.roster.columns import match_columns, rows_below
from rentals.roster.people import Choices, read_people
from rentals.roster.reading import read_roster
from rentals.roster.sheet import RosterUnreadable
from rentals.roster.text_table import read_pasted

CELLS = st.text(st.characters(codec="utf-8"), max_size=20)
TABLES = st.lists(st.lists(CELLS, min_size=1, max_size=6), min_size=1, max_size=8)
ENCODINGS = st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-32"])


def read_to_the_end(content: bytes | str) -> None:
    try:
        sheet = read_pasted(content) if isinstance(content, str) else read_roster(content)
    except RosterUnreadable as refusal:
        assert str(refusal).endswith((".", "…"))
        return
    found = match_columns(sheet)
    rows = rows_below(sheet, found.head_row)
    fields = found.fields or {"name": 0, "email": 1}
    people = read_people(
        rows, fields, heads=len(found.heads), width=found.width, on_file={}, choices=Choices()
    )
    assert [row.number for row in people] == [row.number for row in rows]


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=400))
def test_any_bytes(content: bytes) -> None:
    read_to_the_end(content)


@settings(max_examples=60, deadline=None)
@given(TABLES, ENCODINGS, st.sampled_from(",;\t|"))
def test_any_table_of_text(table: list[list[str]], encoding: str, delimiter: str) -> None:
    heads = delimiter.join(["Name", "E-mail", "Country", "Postcode"])
    text = "\n".join([heads, *(delimiter.join(row) for row in table)])
    read_to_the_end(text.encode(encoding, "replace"))


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=300))
def test_any_pasted_text(text: str) -> None:
    read_to_the_end(text)


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=300), st.integers(0, 5000))
def test_a_workbook_with_bytes_overwritten(patch: bytes, where: int) -> None:
    whole = bytearray(WORKBOOK)
    start = where % len(whole)
    whole[start : start + len(patch)] = patch
    read_to_the_end(b"PK" + bytes(whole[2:]))


@settings(max_examples=60, deadline=None)
@given(st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=200))
def test_a_workbook_with_another_sheet_inside(xml: str) -> None:
    file = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(WORKBOOK)) as old, zipfile.ZipFile(file, "w") as new:
        for entry in old.infolist():
            sheet = entry.filename.endswith("sheet1.xml")
            new.writestr(
                entry.filename, f"<worksheet><sheetData>{xml}" if sheet else old.read(entry)
            )
    read_to_the_end(file.getvalue())


def _workbook() -> bytes:
    book = openpyxl.Workbook()
    book.active.append(("Name", "E-mail"))
    book.active.append(("Ada", "a@x.example"))
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


WORKBOOK = _workbook()
