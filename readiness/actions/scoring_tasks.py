"""Background work of the bench: one task for each capture."""

from __future__ import annotations

from django_tasks import task

from .claim_capture import release_expired
from .score import score_one


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


def requeue_expired() -> int:
    """Queue again every capture whose worker died; how many there were."""
    expired = release_expired()
    for pk in expired:
        score_later(pk)
    return len(expired)
