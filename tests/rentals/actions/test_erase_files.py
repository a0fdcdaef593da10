"""Mails in the outbox go by their recipient; a capture file keeps all but the words."""

from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.utils import timezone

from readiness.models import Capture, Upload
from rentals.actions.erase_files import delete_files, files_of, overwrite_in_files
from rentals.privacy.sweeping import Person
from tests.factories import assigned_loan

pytestmark = pytest.mark.django_db


def test_mails_to_the_student_are_found_whatever_they_are_called(settings):
    loan = assigned_loan()
    outbox = Path(settings.KITDESK_OUTBOX)
    outbox.mkdir(parents=True)
    for name, to in (("a", loan.enrolment.student.email), ("b", "other@strings.example")):
        (outbox / f"{name}.eml").write_text(
            f"To: Somebody <{to.upper()}>\n\nHello", encoding="utf-8"
        )
    files = files_of(loan.enrolment.student)
    assert files == [outbox / "a.eml"]
    delete_files(files)
    delete_files(files)
    assert [path.name for path in outbox.iterdir()] == ["b.eml"]


def test_words_in_captures_of_the_students_kits_are_overwritten_once():
    loan = assigned_loan()
    capture = Capture.objects.create(
        upload=Upload.objects.create(at=timezone.now()),
        name="still.csv",
        size=20,
        sha256="5" * 64,
        file=ContentFile(b"# Mia Lund\n1.5,2.5\n", name="x"),
        kit=loan.kit,
        taken=timezone.now(),
    )
    person, student = Person(["Mia Lund"]), loan.enrolment.student
    assert len(overwrite_in_files(student, person)) == 1
    assert Path(capture.file.path).read_bytes() == b"# xxxxxxxx\n1.5,2.5\n"
    assert overwrite_in_files(student, person) == {}
    Path(capture.file.path).unlink()
    assert overwrite_in_files(student, person) == {}
