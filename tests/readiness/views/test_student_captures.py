"""The page on which a student sends a recording and reads what it says."""

import pytest
from django.db import OperationalError
from django.test import Client
from django.urls import reverse

from readiness.intake.student_files import FORM_BYTES, MOST_BYTES
from readiness.models import StudentCapture
from readiness.states import CaptureStatus
from rentals.actions.guide import begin_help, report_fault
from rentals.selectors.student_links import token_of_link
from tests.readiness.captures import capture_bytes, capture_file
from tests.rentals.guide import lent

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clean_cache")]


@pytest.fixture
def visit():
    return begin_help(lent(), "hum")


@pytest.fixture
def address(visit) -> str:
    token = token_of_link(visit.loan.student_links.get(revoked_at=None))
    return reverse("student_bench:captures", args=[token, visit.pk])


def test_a_recording_is_answered_in_words_and_the_page_waits_for_it(address):
    client = Client()
    data = {"file": capture_file("mine.csv", capture_bytes("worn"))}
    page = client.post(address, data, follow=True)
    assert "Both leads answer" in page.text and "Ten seconds on the wrists cannot tell" in page.text
    assert "Refresh" not in page and 'type="file"' in page.text
    StudentCapture.objects.update(status=CaptureStatus.WAITING)
    page = client.get(address)
    assert page["Refresh"] and "is being looked at" in page.text
    assert 'type="file"' not in page.text


def test_what_is_too_large_is_turned_away_before_it_is_read(address, monkeypatch):
    def read(*_):
        raise AssertionError("The request was read.")

    monkeypatch.setattr("django.http.multipartparser.MultiPartParser.parse", read)
    large = b"x" * (MOST_BYTES + FORM_BYTES)
    page = Client().post(address, {"file": capture_file("a.csv", large)})
    assert page.status_code == 413 and "too large" in page.text


def test_what_is_no_recording_is_refused_beside_the_box(address):
    for data in ({}, {"file": capture_file("a.pdf", b"%PDF")}):
        page = Client().post(address, data)
        assert page.status_code == 422 and 'role="alert"' in page.text
    assert not StudentCapture.objects.exists()


def test_the_recordings_of_another_loan_are_not_there(address):
    other = lent()
    token = token_of_link(other.student_links.get(revoked_at=None))
    visit = address.rstrip("/").split("/")[-2]
    assert Client().get(reverse("student_bench:captures", args=[token, visit])).status_code == 404


def test_the_instructor_reads_what_the_bench_says_of_it(visit, address, signed_in):
    Client().post(address, {"file": capture_file("mine.csv", capture_bytes("worn"))})
    report = report_fault(visit)
    panel = signed_in.get(reverse("readiness:report_captures", args=[report.pk]))
    assert "mine.csv" in panel.text and "Not proven: lead" in panel.text
    capture = StudentCapture.objects.get()
    file = signed_in.get(reverse("readiness:report_capture_file", args=[capture.pk]))
    assert b"".join(file.streaming_content) == capture_bytes("worn")
    assert Client().get(reverse("readiness:report_captures", args=[report.pk])).status_code == 302


def test_a_desk_that_is_held_for_long_shows_the_page_and_keeps_the_box(address, monkeypatch):
    def locked(*_: object, **__: object) -> None:
        raise OperationalError("database is locked")

    monkeypatch.setattr("rentals.actions.once.LONGEST_WAIT_S", 0)
    monkeypatch.setattr("django.db.models.query.QuerySet.update", locked)
    monkeypatch.setattr(StudentCapture, "save", locked)
    page = Client().post(address, {"file": capture_file("mine.csv", capture_bytes("worn"))})
    assert page.status_code == 422 and "press again" in page.text
    assert 'type="file"' in page.text
