"""Putting captures into the queue for scoring, the first time or once more."""

from __future__ import annotations

from django.db.models import QuerySet

from readiness.models import Capture

from .scoring_tasks import score_later

Status = Capture.Status


def queue_again(captures: QuerySet[Capture]) -> int:
    """Have captures scored once more, as if they had just come; how many were queued.

    A present verdict holds until the new one is there. What left the queryset meanwhile, because
    another process took it up, is left alone.
    """
    keys = list(captures.order_by("kit", "pk").values_list("pk", flat=True))
    queued = [pk for pk in keys if _waits_again(captures, pk)]
    score_later(queued)
    return len(queued)


def _waits_again(captures: QuerySet[Capture], pk: int) -> bool:
    return bool(
        captures.filter(pk=pk).update(
            status=Status.WAITING, attempts=0, claimed_at=None, refusal="", missing=""
        )
    )
