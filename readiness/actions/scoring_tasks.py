"""Background work of the bench: one task for each capture."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django_tasks import task
from django_tasks_db.models import DBTaskResult

from readiness.models import Capture, StudentCapture
from readiness.states import CaptureStatus

from .claim_capture import release_expired
from .score import score_some
from .student_scoring import (
    release_student_captures,
    score_student_capture,
    waiting_student_captures,
)

#: A batch is a second's work: long enough to share what its captures need from the rows, short
#: enough that several workers end together.
MOST_OF_BATCH = 12
_BATCHES_OF_DROP = 8


@task()
def score_capture_files(keys: list[int]) -> None:
    """Score captures and judge their kits; then take up again what a worker that died left
    behind.
    """
    score_later(score_some(keys))
    requeue_expired()


def score_later(keys: Iterable[int]) -> None:
    """Queue the scoring of captures, given kit by kit, within the surrounding transaction: nothing
    is scored that was not kept. Several workers share them.
    """
    keys = list(keys)
    size = min(MOST_OF_BATCH, max(1, len(keys) // _BATCHES_OF_DROP))
    # A kit has three tests as a rule: it is judged once where they stay together.
    size = max(3, size - size % 3)
    for start in range(0, len(keys), size):
        score_capture_files.enqueue(keys[start : start + size])


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
    keys = list(waiting.order_by("kit", "pk"))
    score_later(keys)
    students = waiting_student_captures()
    for pk in students:
        score_student_later(pk)
    return len(keys) + len(students)


def requeue_unbegun(tasks: Iterable[DBTaskResult]) -> int:
    """Queue again the captures whose task was lost before it had claimed one; how many there
    were.
    """
    files, sent_files = score_capture_files.module_path, score_student_file.module_path
    asked: dict[str, list[Any]] = {files: [], sent_files: []}
    for lost in tasks:
        if lost.task_path in asked:
            asked[lost.task_path].append(lost.args_kwargs["args"][0])
    batches = asked[files]
    named = Capture.objects.filter(pk__in=[pk for keys in batches for pk in keys])
    captures = list(named.filter(status=CaptureStatus.WAITING).values_list("pk", flat=True))
    score_later(captures)
    sent = StudentCapture.objects.filter(pk__in=asked[sent_files])
    students = list(sent.filter(status=CaptureStatus.WAITING).values_list("pk", flat=True))
    for pk in students:
        score_student_later(pk)
    return len(captures) + len(students)


def requeue_expired() -> int:
    """Queue again every capture whose worker died; how many there were."""
    expired = release_expired()
    for pk in expired:
        # Each by itself: one that ends its worker must not use up the tries of others with it.
        score_later([pk])
    students = release_student_captures()
    for pk in students:
        score_student_later(pk)
    return len(expired) + len(students)
