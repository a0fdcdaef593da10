"""Lists as files that no spreadsheet runs anything of."""

from __future__ import annotations

import csv
import io
from datetime import date

import openpyxl
import pytest

from rentals.models import Kit
from rentals.selectors.export import ExportFormat, defused, export_kits, export_rows
from rentals.selectors.kits import kits_listed, with_open_loans
from tests.factories import assigned_loan

ROWS = [["=1+1", 2], ["Jürgen, Größe", None]]


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "\t=1", "\r=1", "\x00=1"])
def test_what_a_spreadsheet_would_run_becomes_text(text):
    assert defused(text).startswith("'")
    assert "\x00" not in defused(text)
    assert (defused("violin"), defused(-1), defused(None)) == ("violin", -1, None)


def test_both_forms_hold_the_same_table():
    packed = export_rows(["a", "b"], ROWS, ExportFormat.CSV)
    assert packed.startswith(b"\xef\xbb\xbf")
    read = list(csv.reader(io.StringIO(packed.decode("utf-8-sig"))))
    assert read == [["a", "b"], ["'=1+1", "2"], ["Jürgen, Größe", ""]]
    book = openpyxl.load_workbook(io.BytesIO(export_rows(["a", "b"], ROWS, ExportFormat.XLSX)))
    cells = list(book.active.values)
    assert cells == [("a", "b"), ("'=1+1", 2), ("Jürgen, Größe", None)]
    assert ExportFormat.CSV.content_type.startswith("text/csv")
    assert "spreadsheet" in ExportFormat.XLSX.content_type


@pytest.mark.django_db
def test_the_fleet_list_says_who_has_a_kit_and_until_when():
    loan = assigned_loan()
    Kit.objects.update(note="=danger")
    content = b"".join(export_kits(with_open_loans(kits_listed()), ExportFormat.CSV))
    rows = content.decode("utf-8-sig").splitlines()
    [row] = csv.DictReader(rows)
    assert (row["code"], row["cleared"], row["note"]) == (loan.kit.code, "yes", "'=danger")
    assert row["student"] == loan.enrolment.student.name
    assert date.fromisoformat(row["due"]) == loan.due_on
