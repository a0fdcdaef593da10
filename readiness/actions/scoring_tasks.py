"""Background work of the bench: one task for each capture."""

from __future__ import annotations

from collections.abc import Iterable

from django_tasks import task
from django_tasks_db.models import DBTaskResult

from readiness.models import Capture, StudentCapture
from readiness.states import CaptureStatus

from .claim_capture import release_expired
from .score import score_one
from .student_scoring import (
    release_student_captures,
    score_student_capture,
    waiting_student_captures,
)


@task()
def score_capture_file(pk: int) -> str:
    """Score one capture and, with it, judge its kit; then take up again what a worker that died
    left behind.
    """
    status = score_one(pk)
    requeue_expired()
    return status


def score_later(pk: int) -> None:
    """Queue the scoring of a capture, within the surrounding transaction: nothing is scored that
    was not kept.
    """
    score_capture_file.enqueue(pk)


@task()
def score_student_file(pk: int) -> str:
    """Score one capture that a student sent."""
    return score_student_capture(pk)


def score_student_later(pk: int) -> None:
    """Queue the scoring of a student's capture. A second task for one does nothing."""
    score_student_file.enqueue(pk)


def queue_waiting() -> int:
    """Queue every capture that waits, once more; how many there are. A second task for one does
    nothing. For the start of a new version, whose tasks may have other names than those queued.
    """
    waiting = Capture.objects.filter(status=Capture.Status.WAITING).values_list("pk", flat=True)
    keys = list(waiting)
    for pk in keys:
        score_later(pk)
    students = waiting_student_captures()
    for pk in students:
        score_student_later(pk)
    return len(keys) + len(students)


def requeue_unbegun(tasks: Iterable[DBTaskResult]) -> int:
    """Queue again the captures whose task was lost before it had claimed one; how many there
    were.
    """
    requeued = 0
    for queued, rows in ((score_capture_file, Capture), (score_student_file, StudentCapture)):
        lost = [task for task in tasks if task.task_path == queued.module_path]
        keys = [task.args_kwargs["args"][0] for task in lost]
        waiting = rows._default_manager.filter(pk__in=keys, status=CaptureStatus.WAITING)
        for pk in list(waiting.values_list("pk", flat=True)) if keys else []:
            queued.enqueue(pk)
            requeued += 1
    return requeued


def requeue_expired() -> int:
    """Queue again every capture whose worker died; how many there were."""
    expired = release_expired()
    for pk in expired:
        score_later(pk)
    students = release_student_captures()
    for pk in students:
        score_student_later(pk)
    return len(expired) + len(students)
