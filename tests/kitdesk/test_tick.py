"""What is due by the clock, at the start of a worker and every minute."""

from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django.utils import timezone

from kitdesk.management.commands import worker
from readiness.actions.claim_capture import LEASE
from readiness.actions.scoring_tasks import queue_waiting
from readiness.actions.upload import store_upload
from readiness.models import Capture
from rentals.models import Student
from tests.factories import StudentFactory, complete_kit
from tests.readiness.captures import capture_bytes, capture_file

pytestmark = pytest.mark.django_db


def test_a_capture_whose_worker_died_is_queued_again():
    kit = complete_kit(cleared=False)
    store_upload([capture_file("a.csv", capture_bytes("still", kit=kit.code))])
    died_at = timezone.now() - LEASE.duration - timedelta(seconds=1)
    Capture.objects.update(status="scoring", claimed_at=died_at, attempts=1)
    out = StringIO()
    call_command("tick", stdout=out)
    assert "1 capture is in the queue again." in out.getvalue()
    assert Capture.objects.get().status == "scored"


def test_a_capture_whose_task_was_never_done_is_queued_when_a_server_starts():
    kit = complete_kit(cleared=False)
    store_upload([capture_file("a.csv", capture_bytes("still", kit=kit.code))])
    Capture.objects.update(status="waiting", claimed_at=None, attempts=0)
    assert queue_waiting() == 1
    assert Capture.objects.get().status == "scored"
    assert queue_waiting() == 0


def test_what_is_kept_no_longer_goes_and_is_said():
    student = StudentFactory()
    Student.objects.update(on_file_since=timezone.now() - timedelta(days=800))
    out = StringIO()
    call_command("tick", stdout=out)
    assert "Kept no longer: 1 student, 0 photos, 0 roster drafts." in out.getvalue()
    assert Student.objects.get(pk=student.pk).erased_at


def test_where_nothing_was_lost_nothing_is_said_of_it():
    out = StringIO()
    call_command("tick", stdout=out)
    assert "0 reminders; 0 mails sent" in out.getvalue()
    assert "Kept no longer" not in out.getvalue()
    assert "captures" not in out.getvalue()


def test_the_clock_goes_once_at_the_start_and_then_sleeps(monkeypatch):
    done = []

    def sleep(seconds):
        done.append(seconds)
        raise StopIteration

    monkeypatch.setattr(worker, "call_command", lambda *args, **kwargs: done.append(args[0]))
    monkeypatch.setattr(worker.time, "sleep", sleep)
    with pytest.raises(StopIteration):
        worker._clock()
    assert done == ["tick", worker.TICK_EVERY_S]


def test_a_failure_is_logged_and_the_clock_goes_on(monkeypatch, caplog):
    def sleep(seconds):
        raise StopIteration

    def broken(*args, **kwargs):
        raise RuntimeError("not to be expected")

    monkeypatch.setattr(worker, "call_command", broken)
    monkeypatch.setattr(worker.time, "sleep", sleep)
    with pytest.raises(StopIteration):
        worker._clock()
    assert "not to be expected" in caplog.text
