"""Scoring a capture that a student sent, as `worn`: by a worker, once, tried a bounded number of
times.

What comes of it is told to the student and shown with the fault report; no round, limit or
clearance of a kit looks at it.
"""

from __future__ import annotations

import logging
from datetime import timedelta

from django.utils import timezone

from readiness.intake.student_files import MOST_BYTES
from readiness.judgement.judging import judge
from readiness.judgement.opened_apart import open_apart
from readiness.models import StudentCapture
from readiness.selectors.column_maps import column_maps
from readiness.selectors.limits import limits_for
from readiness.signal.errors import CaptureRefused
from readiness.signal.limits import METHOD_VERSION
from readiness.states import CaptureStatus
from rentals import transaction
from rentals.actions.leases import Lease
from rentals.store_away import StoreAway

from .claim_capture import AGAIN_AFTER, LONGEST_REFUSAL

TEST = "worn"
LEASE = Lease(
    StudentCapture, "status", CaptureStatus.SCORING, duration=timedelta(seconds=120), tries=3
)
log = logging.getLogger(__name__)


def score_student_capture(pk: int) -> str:
    """Score a waiting capture of a student; its status afterwards. Safe to repeat and to run in
    many processes, as ``score_one`` is for the bench.
    """
    capture = _claim(pk)
    if capture is None:
        return StudentCapture.objects.values_list("status", flat=True).get(pk=pk)
    try:
        return _score(capture)
    except CaptureRefused as refusal:
        return _refuse(capture, refusal.sentence, refusal.missing)
    except StoreAway as away:
        log.warning("a student's capture %s waits for its file: %s", pk, away)
        LEASE.postpone(capture, timezone.now() + AGAIN_AFTER)
        return CaptureStatus.SCORING
    except OSError as problem:
        return _refuse(capture, f"The stored file cannot be read: {problem.strerror or problem}.")
    except Exception:
        # Whatever it was, the claim must not outlive it; the log and the task keep the trace.
        log.exception("scoring of a student's capture %s failed", pk)
        return _refuse(capture, "Scoring this file failed.")


def _claim(pk: int) -> StudentCapture | None:
    waiting = StudentCapture.objects.filter(pk=pk, status=CaptureStatus.WAITING)
    if not LEASE.claim(waiting, timezone.now()):
        return None
    return StudentCapture.objects.select_related("visit__loan__kit__kit_type").get(pk=pk)


def _score(capture: StudentCapture) -> str:
    with capture.file.open("rb") as stream:
        data = stream.read(MOST_BYTES + 1)
    kit = capture.visit.loan.kit
    recording = open_apart(capture.name, data, {}, column_maps())
    result = judge(recording, kit.code, TEST, limits_for(kit))
    with transaction.atomic():
        LEASE.under_claim_of(capture).update(
            status=CaptureStatus.SCORED,
            result=result,
            method_version=METHOD_VERSION,
            claimed_at=None,
            refusal="",
            missing="",
        )
    return CaptureStatus.SCORED


@transaction.atomic
def _refuse(capture: StudentCapture, sentence: str, missing: str = "") -> str:
    LEASE.under_claim_of(capture).update(
        status=CaptureStatus.UNREADABLE,
        refusal=sentence[:LONGEST_REFUSAL],
        missing=missing,
        claimed_at=None,
    )
    return CaptureStatus.UNREADABLE


def waiting_student_captures() -> list[int]:
    """The keys of all that wait to be scored."""
    waiting = StudentCapture.objects.filter(status=CaptureStatus.WAITING)
    return list(waiting.values_list("pk", flat=True))


def release_student_captures() -> list[int]:
    """Those whose worker died: set free again, or given up after the last try; the keys of those to
    queue.
    """
    expired = LEASE.expired(timezone.now()).only("pk", "attempts", "claimed_at")
    return [capture.pk for capture in expired if _release(capture)]


@transaction.atomic
def _release(capture: StudentCapture) -> bool:
    if LEASE.is_used_up(capture):
        _refuse(capture, "Scoring this file was broken off.")
        return False
    claimed = LEASE.under_claim_of(capture)
    return bool(claimed.update(status=CaptureStatus.WAITING, claimed_at=None))
