"""The ZIP of one student: whole, described, and harmless to a spreadsheet."""

import csv
import io
import json
import zipfile

import pytest

from rentals.models import Attachment
from rentals.privacy.of_students import OF_STUDENTS
from rentals.selectors.student_data import student_data
from tests.factories import assigned_loan
from tests.rentals.letters import mail_to
from tests.rentals.photos import add_pictures

pytestmark = pytest.mark.django_db


def test_everything_is_in_it_and_nobody_else():
    loan, other = assigned_loan(), assigned_loan()
    student = loan.enrolment.student
    student.note = "=HYPERLINK(1)"
    student.save()
    mail = mail_to(student.email, loan=loan)
    Attachment.objects.create(message=mail, file_name="../list.pdf", content=b"%PDF")
    add_pictures(loan.packing_lines.first(), b"jpeg")
    archive = zipfile.ZipFile(io.BytesIO(student_data(student, "EUR")))
    names = archive.namelist()
    tables = [table.model.split(".")[1] for table in OF_STUDENTS]
    assert {f"tables/{name}.csv" for name in (*tables, "Event")} <= set(names)
    assert [archive.read(name) for name in names if name.startswith("files/LinePhoto/")] == [
        b"jpeg"
    ]
    assert [archive.read(name) for name in names if name.endswith("list.pdf")] == [b"%PDF"]
    assert not any(".." in name for name in names)
    assert "your kit" in archive.read(f"mails/{mail.pk}/mail.txt").decode()
    data = json.loads(archive.read("data.json"))
    assert [row["email"] for row in data["Student"]] == [student.email]
    assert [row["id"] for row in data["Loan"]] == [loan.pk]
    assert any(student.name in event["text"] for event in data["Event"])
    rows = csv.DictReader(io.StringIO(archive.read("tables/Student.csv").decode("utf-8-sig")))
    assert next(rows)["note"] == "'=HYPERLINK(1)"
    readme = archive.read("README.txt").decode()
    assert all(f"\n{name}: " in readme for name in (*tables, "Event"))
    everything = "".join(archive.read(name).decode("latin-1") for name in names)
    assert other.enrolment.student.email not in everything
