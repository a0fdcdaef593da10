"""Whose capture it is to score: claimed, refused, put back, and set free when its worker died."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import timedelta

from django.db.models import F
from django.utils import timezone

from readiness.models import Capture
from rentals import transaction
from rentals.actions.leases import Lease

Status = Capture.Status
LEASE = Lease(Capture, "status", Status.SCORING, duration=timedelta(seconds=120), tries=3)
"""A scoring takes well under five seconds; a claim this old belongs to a worker that died."""
LONGEST_REFUSAL = 600
AGAIN_AFTER = timedelta(seconds=30)
"""After so long a store of files that was away is asked again, and whatever else no file is to
blame for is tried again."""


def claim(keys: Sequence[int]) -> list[Capture]:
    """Those of the captures whose turn it is, claimed together for this worker alone, in the order
    of their keys.
    """
    now = timezone.now()
    named = Capture.objects.filter(pk__in=keys)
    free = named.filter(status=Status.WAITING) | LEASE.expired(now).filter(pk__in=keys)
    if not LEASE.claim(free, now):
        return []
    claimed = LEASE.under_claims_of(named, now)
    return list(claimed.select_related("kit__kit_type", "upload__by").order_by("pk"))


def give_back(captures: Iterable[Capture]) -> list[int]:
    """Let those go that were claimed and not begun, as if they had not been; the keys of those to
    queue.
    """
    with transaction.atomic():
        keys = [
            capture.pk
            for capture in captures
            if LEASE.under_claim_of(capture).update(
                status=Status.WAITING, claimed_at=None, attempts=F("attempts") - 1
            )
        ]
    return keys


@transaction.atomic
def refuse(capture: Capture, sentence: str, missing: str = "") -> str:
    """End a claim without a verdict: a fact is missing, or the file is not readable. Gives the
    status.
    """
    status = Status.ASKING if missing else Status.UNREADABLE
    LEASE.under_claim_of(capture).update(
        status=status,
        refusal=sentence[:LONGEST_REFUSAL],
        missing=missing,
        claimed_at=None,
        attempts=0,
        kit=capture.kit,
        test=capture.test,
        taken=capture.taken,
        taken_known=capture.taken_known,
    )
    return status


def put_back(capture: Capture) -> str:
    """Let a claim expire at once, so that the capture is tried again; refused after the last try.

    Gives the status.
    """
    if LEASE.is_used_up(capture):
        return refuse(
            capture, f"Scoring this file failed {LEASE.tries} times. Record the test again."
        )
    expired_at = timezone.now() - LEASE.duration + LEASE.wait_after(capture)
    LEASE.under_claim_of(capture).update(claimed_at=expired_at)
    return Status.SCORING


def wait_untried(capture: Capture) -> str:
    """Let the claim expire in half a minute without counting it as a try: the fault is not the
    file's. Gives the status.
    """
    LEASE.postpone(capture, timezone.now() + AGAIN_AFTER)
    return Status.SCORING


def release_expired() -> list[int]:
    """Captures whose worker died: set free again, or given up after the last try; the keys of
    those to queue.
    """
    expired = LEASE.expired(timezone.now()).only("pk", "attempts", "claimed_at")
    return [capture.pk for capture in expired if _release(capture)]


@transaction.atomic
def _release(capture: Capture) -> bool:
    """End an expired claim; True where the capture is to be queued again.

    By a conditional update, so that two who come at once do not queue it twice.
    """
    expired_claim = LEASE.under_claim_of(capture)
    if LEASE.is_used_up(capture):
        sentence = f"Scoring this file was broken off {LEASE.tries} times. Record the test again."
        expired_claim.update(status=Status.UNREADABLE, refusal=sentence, claimed_at=None)
        return False
    return bool(expired_claim.update(status=Status.WAITING, claimed_at=None))
