"""Scoring what students send: once, whatever the file holds, and taken up again."""

from datetime import timedelta

import pytest
from django.utils import timezone

from readiness.actions import student_scoring
from readiness.actions.scoring_tasks import queue_waiting, requeue_expired
from readiness.actions.student_captures import take_student_capture
from readiness.actions.student_scoring import score_student_capture
from readiness.models import StudentCapture
from readiness.states import CaptureStatus
from rentals.actions.guide import begin_help
from tests.readiness.captures import capture_bytes, capture_file
from tests.rentals.guide import lent

pytestmark = pytest.mark.django_db


@pytest.fixture
def visit():
    return begin_help(lent(), "hum")


def sent(visit, name: str, data: bytes) -> StudentCapture:
    return StudentCapture.objects.get(pk=take_student_capture(visit, capture_file(name, data)).pk)


def test_files_that_are_no_recording_end_as_not_readable(visit, monkeypatch):
    hostile = sent(visit, "a.edf", b"0       " + b"\xff" * 4000)
    assert hostile.status == CaptureStatus.UNREADABLE and hostile.refusal
    bare = sent(visit, "b.csv", capture_bytes("worn", drop=("rate_hz",)))
    assert (bare.status, bare.missing) == (CaptureStatus.UNREADABLE, "rate")

    def fails(*_):
        raise MemoryError

    monkeypatch.setattr(student_scoring, "judge", fails)
    assert sent(visit, "c.csv", capture_bytes("worn")).refusal == "Scoring this file failed."


def test_one_that_a_worker_left_behind_is_taken_up_again_and_given_up_in_the_end(visit):
    capture = sent(visit, "a.csv", capture_bytes("worn"))
    rows = StudentCapture.objects.filter(pk=capture.pk)
    long_ago = timezone.now() - timedelta(hours=1)
    rows.update(status=CaptureStatus.SCORING, claimed_at=long_ago, attempts=1)
    assert score_student_capture(capture.pk) == CaptureStatus.SCORING
    assert requeue_expired() == 1
    assert rows.get().status == CaptureStatus.SCORED
    rows.update(status=CaptureStatus.SCORING, claimed_at=long_ago, attempts=3)
    assert requeue_expired() == 0
    assert rows.get().status == CaptureStatus.UNREADABLE
    rows.update(status=CaptureStatus.WAITING)
    assert queue_waiting() == 1 and rows.get().status == CaptureStatus.SCORED
