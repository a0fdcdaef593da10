"""Scoring a capture in the background: claimed with a lease, done once, tried again a bounded
number of times.
"""

from __future__ import annotations

import logging
from collections.abc import Mapping
from datetime import datetime

from django.utils import timezone

from readiness.actions.check_kit import judge_day_again
from readiness.actions.claim_capture import LEASE, claim, put_back, refuse, wait_for_store
from readiness.actions.conclude import conclude
from readiness.actions.same_as import same_samples_sentence
from readiness.actions.verdicts import keep_verdict
from readiness.intake.owners import Question, asked_together
from readiness.judgement.judging import judge
from readiness.judgement.opened_apart import open_apart
from readiness.models import Capture, CaptureMark, CheckKit
from readiness.selectors.column_maps import column_maps
from readiness.selectors.limits import fitted, limits_of
from readiness.selectors.owners import owner_of
from readiness.selectors.same_samples import same_recording
from readiness.signal.capture import Recording
from readiness.signal.catalogue import NOISE_TEST
from readiness.signal.errors import CaptureRefused
from readiness.signal.limits import Limits
from readiness.signal.sample_marks import SampleMark, mark_of
from rentals import transaction
from rentals.actions.record import Actor
from rentals.models import Kit, Part, PartKind
from rentals.store_away import StoreAway
from rentals.through_locks import through_locks

Status = Capture.Status
#: Seconds that scoring waits for a database that something else holds; shorter than a claim lasts.
LONGEST_WAIT_S = 60
log = logging.getLogger(__name__)


def score_one(pk: int, *, at: datetime | None = None, actor: Actor = None) -> str:
    """Score a waiting capture; its status afterwards.

    Safe to repeat and to run in many processes: only the one whose claim hits goes on. A capture
    that makes the program itself fail is put back and tried again, as often as ``LEASE`` allows,
    then it is not readable. One whose file lies in a store that is away waits for it, however long
    that takes. What follows for the kit is recorded under `actor`, else under the name of whoever
    dropped the file.
    """
    capture = through_locks(lambda: claim(pk), longest_s=LONGEST_WAIT_S)
    if capture is None:
        return _status_of(pk)
    try:
        return through_locks(
            lambda: _score(capture, at=at, actor=actor or capture.upload.by),
            longest_s=LONGEST_WAIT_S,
        )
    except CaptureRefused as refusal:
        return refuse(capture, refusal.on_screen, refusal.missing)
    except StoreAway as away:
        log.warning("capture %s waits for its file: %s", pk, away)
        return through_locks(lambda: wait_for_store(capture), longest_s=LONGEST_WAIT_S)
    except OSError as problem:
        reason = problem.strerror or problem
        return refuse(capture, f"The stored file cannot be read: {reason}. Drop it again.")
    except Exception:
        # Whatever it was, the claim must not outlive it; the log and the task keep the trace.
        log.exception("scoring of capture %s failed", pk)
        return through_locks(lambda: put_back(capture), longest_s=LONGEST_WAIT_S)


def _status_of(pk: int) -> str:
    return Capture.objects.values_list("status", flat=True).get(pk=pk)


def _score(capture: Capture, *, at: datetime | None, actor: Actor) -> str:
    """Read, find the kit and the test, judge, and write down; or ask what the file does not say."""
    with capture.file.open("rb") as stream:
        data = stream.read()
    recording = open_apart(capture.name, data, capture.declared, column_maps())
    kit, test = owner_of(capture, recording.kit, recording.test)
    if isinstance(kit, Question) or isinstance(test, Question):
        _note_taken(capture, recording)
        return _ask(capture, kit, test)
    mark = mark_of(recording.emg.samples, recording.rate_hz)
    if mark and (twin := same_recording(capture, kit, test, mark)):
        capture.kit, capture.test = kit, test
        return refuse(capture, same_samples_sentence(*twin))
    parts = fitted(kit)
    limits = limits_of(kit, parts)
    result = judge(recording, kit.code, test, limits)
    with transaction.atomic():
        scored = _mark_scored(capture, recording, kit, test, parts)
        if scored is None:
            return _status_of(capture.pk)
        keep_verdict(scored, result, limits, at=at)
        _keep_mark(scored, mark)
        _judge_kit(scored, limits, at=at, actor=actor)
    return Status.SCORED


def _ask(capture: Capture, kit: Kit | Question, test: str | Question) -> str:
    """End a claim with what must be asked, and keep what is known of kit and test meanwhile."""
    questions = []
    if isinstance(kit, Question):
        questions.append(kit)
    else:
        capture.kit = kit
    if isinstance(test, Question):
        questions.append(test)
    else:
        capture.test = test
    question = asked_together(questions)
    return refuse(capture, question.sentence, question.missing)


def _mark_scored(
    capture: Capture, recording: Recording, kit: Kit, test: str, parts: Mapping[str, Part]
) -> Capture | None:
    """The capture, locked and scored; None where the claim was taken over meanwhile."""
    scored = LEASE.under_claim_of(capture).select_for_update().first()
    if scored is None:
        return None
    scored.kit, scored.test = kit, test
    _note_taken(scored, recording)
    _note_parts(scored, parts)
    scored.status, scored.claimed_at = Status.SCORED, None
    scored.refusal = scored.missing = ""
    scored.save()
    return scored


def _keep_mark(capture: Capture, mark: SampleMark | None) -> None:
    """What its samples are known by; none where too little changes in them."""
    if mark is None:
        CaptureMark.objects.filter(capture=capture).delete()
        return
    CaptureMark.objects.bulk_create(
        [CaptureMark(capture=capture, mark=mark.to_bytes())],
        update_conflicts=True,
        update_fields=["mark"],
        unique_fields=["capture"],
    )


def _judge_kit(capture: Capture, limits: Limits, *, at: datetime | None, actor: Actor) -> None:
    """What a scored capture means for its kit and, if that is the check kit, for the bench."""
    assert capture.kit is not None
    conclude(capture.kit, at=at, actor=actor, limits=limits)
    if capture.test == NOISE_TEST and CheckKit.objects.filter(kit=capture.kit).exists():
        judge_day_again(timezone.localdate(capture.taken), actor=actor)


def _note_taken(capture: Capture, recording: Recording) -> None:
    """Write down when a capture was made, where the file says so; a time after the upload is not
    believed.
    """
    taken_at = recording.taken
    if taken_at is None:
        return
    if not timezone.is_aware(taken_at):
        taken_at = timezone.make_aware(taken_at)
    capture.taken, capture.taken_known = min(taken_at, capture.upload.at), True


def _note_parts(capture: Capture, parts: Mapping[str, Part]) -> None:
    """The serial parts a capture speaks of, for their histories; written once, at the first
    scoring.
    """
    if capture.amplifier_id or capture.lead_set_id or capture.battery_pack_id:
        return
    capture.amplifier = parts.get(PartKind.AMPLIFIER)
    capture.lead_set = parts.get(PartKind.LEAD_SET)
    capture.battery_pack = parts.get(PartKind.BATTERY_PACK)
