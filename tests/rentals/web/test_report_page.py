"""A report's rows are paged on the page and come in lots in a file."""

import pytest
from django.db import connection
from django.test import RequestFactory
from django.test.utils import CaptureQueriesContext

from rentals.models import Student
from rentals.reports.report import DeskReport
from rentals.reports.table import ReportColumn
from rentals.web import report_page
from rentals.web.report_page import ReportPage, report_file
from rentals.web.table_file import file_answer
from tests.factories import StudentFactory

pytestmark = pytest.mark.django_db


def _students(scope) -> DeskReport:
    return DeskReport(
        heading="All students",
        sentence="",
        caption="Students",
        columns=[ReportColumn("City")],
        things=Student.objects.all(),
        rows_of=lambda students: [(each.city,) for each in students],
        basis=(),
        empty="",
    )


def test_a_file_holds_all_rows_in_few_queries(monkeypatch):
    monkeypatch.setattr(report_page, "ROWS_AT_ONCE", 3)
    StudentFactory.create_batch(7)
    shown = ReportPage("rentals:report_use", "All", _students)
    with CaptureQueriesContext(connection) as queries:
        table = report_file(RequestFactory().get("/"), shown, "csv")
        answer = file_answer(table)
        lines = answer.getvalue().decode("utf-8-sig").split()
    assert lines == ["City", *["Rosinburg"] * 7]
    # How many, their numbers, and all at once: not one for each lot of three.
    assert len(queries) == 3
    assert answer["Content-Disposition"] == 'attachment; filename="all-students.csv"'
