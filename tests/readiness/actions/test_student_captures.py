"""A capture that a student sends is kept and scored, and counts for nothing at the bench."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from readiness.actions.student_captures import MOST_OF_VISIT, take_student_capture
from readiness.models import Capture, StudentCapture, Verdict
from readiness.selectors.kits import kit_bench
from readiness.states import CaptureStatus
from rentals.actions.guide import begin_help, report_fault
from rentals.errors import Refused
from rentals.models import Kit
from tests.readiness.captures import capture_bytes, capture_file
from tests.rentals.guide import lent

pytestmark = pytest.mark.django_db


@pytest.fixture
def visit():
    return begin_help(lent(), "hum")


def test_it_is_scored_as_worn_and_the_kit_is_what_it_was(visit):
    kit = visit.loan.kit
    before, rounds = Kit.objects.filter(pk=kit.pk).values().get(), kit_bench(kit)
    data = capture_bytes("worn", kit=kit.code, drop=("test",))
    capture = take_student_capture(visit, capture_file("../my trace.CSV", data))
    capture.refresh_from_db()
    assert (capture.status, capture.name) == (CaptureStatus.SCORED, "my trace.CSV")
    assert capture.result["test"] == "worn" and capture.method_version
    with capture.file.open() as kept:
        assert kept.read() == data
    assert Kit.objects.filter(pk=kit.pk).values().get() == before
    assert kit_bench(kit) == rounds
    assert not Capture.objects.exists() and not Verdict.objects.exists()


def test_a_file_that_says_it_is_another_test_is_worn_all_the_same(visit):
    file = capture_file("still.csv", capture_bytes("worn"))
    take_student_capture(visit, file)
    assert StudentCapture.objects.get().result["test"] == "worn"


def test_the_same_bytes_are_kept_once(visit):
    data = capture_bytes("worn")
    first = take_student_capture(visit, capture_file("a.csv", data))
    assert take_student_capture(visit, capture_file("b.csv", data)) == first


def test_files_that_cannot_be_are_refused_in_words_before_anything_is_kept(visit, settings):
    huge = SimpleUploadedFile("a.csv", b"x")
    huge.size = 9 * 2**20
    for file, words in (
        (capture_file("a.csv", b""), "empty"),
        (huge, "too large"),
        (capture_file("a.pdf", b"%PDF"), "whose name ends in"),
    ):
        with pytest.raises(Refused, match=words):
            take_student_capture(visit, file)
    assert not StudentCapture.objects.exists()


def test_only_so_many_are_kept_and_none_after_the_end(visit):
    for number in range(MOST_OF_VISIT):
        take_student_capture(visit, capture_file("a.csv", b"no capture %d" % number))
    with pytest.raises(Refused, match="Many recordings"):
        take_student_capture(visit, capture_file("a.csv", b"one more"))
    report_fault(visit)
    with pytest.raises(Refused, match="has ended"):
        take_student_capture(visit, capture_file("a.csv", b"late"))
