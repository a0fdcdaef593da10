"""Scoring a capture in the background: claimed with a lease, done once, tried again a bounded
number of times.
"""

from __future__ import annotations

import logging
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import F, Q
from django.utils import timezone

from readiness.actions.check_kit import judge_day_again
from readiness.actions.conclude import conclude
from readiness.intake.kept_maps import kept_maps
from readiness.intake.owners import Asked, whose
from readiness.judgement.judging import judge, limits_dict, measured, open_capture
from readiness.judgement.limits_for import fitted, limits_for
from readiness.models import Capture, CheckKit, Verdict
from readiness.signal.capture import Capture as Signal
from readiness.signal.errors import CaptureRefused
from readiness.signal.limits import METHOD_VERSION, Limits
from rentals.actions.record import Actor
from rentals.models import Kit, PartKind

LEASE = timedelta(seconds=120)
"""A scoring takes well under five seconds; a claim this old belongs to a worker that died."""
MAX_ATTEMPTS = 3

log = logging.getLogger(__name__)
Status = Capture.Status


def score_one(pk: int, *, at: datetime | None = None, actor: Actor = None) -> str:
    """Score a waiting capture; its status afterwards.

    Safe to repeat and to run in many processes: only the one whose claim hits goes on. A capture
    that makes the program itself fail is put back and tried again, ``MAX_ATTEMPTS`` times in all,
    then it is not readable. What follows for the kit is recorded under `actor`, else under the name
    of whoever dropped the file.
    """
    now = timezone.now()
    expired = Q(status=Status.SCORING, claimed_at__lt=now - LEASE)
    free = Capture.objects.filter(Q(status=Status.WAITING) | expired, pk=pk)
    if not free.update(status=Status.SCORING, claimed_at=now, attempts=F("attempts") + 1):
        return Capture.objects.values_list("status", flat=True).get(pk=pk)
    capture = Capture.objects.select_related("kit__kit_type", "upload__by").get(pk=pk)
    try:
        return _score(capture, at=at, actor=actor or capture.upload.by)
    except CaptureRefused as refusal:
        return _refuse(capture, refusal.sentence, refusal.missing)
    except OSError as gone:
        return _refuse(
            capture, f"The stored file cannot be read: {gone.strerror or gone}. Drop it again.", ""
        )
    except Exception:
        # Whatever it was, the claim must not outlive it; the log and the task keep the trace.
        log.exception("scoring of capture %s failed", pk)
        return _put_back(capture)


def _score(capture: Capture, *, at: datetime | None, actor: Actor) -> str:
    with capture.file.open("rb") as stream:
        data = stream.read()
    signal = open_capture(capture.name, data, capture.declared, kept_maps())
    found = whose(capture, signal.kit, signal.test)
    if isinstance(found, Asked):
        note_taken(capture, signal)
        return _refuse(capture, found.sentence, found.missing)
    kit, test = found
    limits = limits_for(kit)
    result = judge(signal, kit.code, test, limits)
    with transaction.atomic():
        locked = Capture.objects.select_for_update().get(pk=capture.pk)
        if locked.status != Status.SCORING or locked.claimed_at != capture.claimed_at:
            return locked.status
        locked.kit, locked.test = kit, test
        note_taken(locked, signal)
        _note_parts(locked, kit)
        locked.status, locked.refusal, locked.missing, locked.claimed_at = (
            Status.SCORED,
            "",
            "",
            None,
        )
        locked.save()
        keep_verdict(locked, result, limits, at=at)
        conclude(kit, at=at, actor=actor)
        if test == "still" and CheckKit.objects.filter(kit=kit).exists():
            judge_day_again(timezone.localdate(locked.taken), actor=actor)
    return Status.SCORED


def keep_verdict(
    capture: Capture,
    result: dict[str, Any],
    limits: Limits,
    *,
    why: str = "",
    at: datetime | None = None,
) -> Verdict:
    """Make a result the current verdict of a locked capture; the one before stays in its history.

    The same result under the same limits is not written twice.
    """
    kept, before = limits_dict(limits), capture.verdicts.filter(current=True).first()
    if before is not None:
        if before.result == result and before.limits == kept:
            return before
        before.current = False
        before.save(update_fields=["current"])
    why = why or ("first scoring" if before is None else "scored again")
    verdict = new_verdict(capture, result, kept, why=why, at=at or timezone.now())
    verdict.save()
    return verdict


def new_verdict(
    capture: Capture, result: dict[str, Any], limits: dict[str, Any], *, why: str, at: datetime
) -> Verdict:
    """An unsaved current verdict of a capture, from a stored result and the limits it was judged
    by.
    """
    scores = result["scores"]
    return Verdict(
        capture=capture,
        at=at,
        why=why,
        method_version=METHOD_VERSION,
        limits=limits,
        verdict=result["verdict"],
        continuity=scores["continuity"],
        noise=scores["noise"],
        battery=scores["battery"],
        noise_uv=measured(result, "noise_full_band"),
        battery_v=measured(result, "battery_end"),
        result=result,
    )


def note_taken(capture: Capture, signal: Signal) -> None:
    """Write down when a capture was made, where the file says so; a time after the upload is not
    believed.
    """
    if signal.taken is None:
        return
    taken = signal.taken if timezone.is_aware(signal.taken) else timezone.make_aware(signal.taken)
    capture.taken, capture.taken_known = min(taken, capture.upload.at), True


def _note_parts(capture: Capture, kit: Kit) -> None:
    """The serial parts a capture speaks of, for their histories; written once, at the first
    scoring.
    """
    if capture.amplifier_id or capture.lead_set_id or capture.battery_pack_id:
        return
    parts = fitted(kit)
    capture.amplifier = parts.get(PartKind.AMPLIFIER)
    capture.lead_set = parts.get(PartKind.LEAD_SET)
    capture.battery_pack = parts.get(PartKind.BATTERY_PACK)


def _refuse(capture: Capture, sentence: str, missing: str) -> str:
    status = Status.ASKING if missing else Status.UNREADABLE
    mine = Capture.objects.filter(
        pk=capture.pk, status=Status.SCORING, claimed_at=capture.claimed_at
    )
    mine.update(
        status=status,
        refusal=sentence[:600],
        missing=missing,
        claimed_at=None,
        attempts=0,
        taken=capture.taken,
        taken_known=capture.taken_known,
    )
    return status


def _put_back(capture: Capture) -> str:
    if capture.attempts >= MAX_ATTEMPTS:
        return _refuse(
            capture, f"Scoring this file failed {MAX_ATTEMPTS} times. Record the test again.", ""
        )
    Capture.objects.filter(
        pk=capture.pk, status=Status.SCORING, claimed_at=capture.claimed_at
    ).update(claimed_at=timezone.now() - LEASE)
    return Status.SCORING


def release_expired() -> list[int]:
    """Captures whose worker died: set free again, or given up after ``MAX_ATTEMPTS``; the keys of
    those to queue.
    """
    expired = Capture.objects.filter(status=Status.SCORING, claimed_at__lt=timezone.now() - LEASE)
    found = list(expired.values_list("pk", "attempts"))
    given_up = [pk for pk, attempts in found if attempts >= MAX_ATTEMPTS]
    if given_up:
        expired.filter(pk__in=given_up).update(
            status=Status.UNREADABLE,
            refusal=(
                f"Scoring this file was broken off {MAX_ATTEMPTS} times. Record the test again."
            ),
            claimed_at=None,
        )
    # Each is set free by a conditional update, so that two reapers do not queue it twice.
    return [
        pk
        for pk, attempts in found
        if attempts < MAX_ATTEMPTS
        and expired.filter(pk=pk).update(status=Status.WAITING, claimed_at=None)
    ]
