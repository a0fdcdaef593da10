"""Scoring captures in the background, some at a time: claimed with a lease, done once, tried again
a bounded number of times.
"""

from __future__ import annotations

import logging
import time
from collections import deque
from collections.abc import Callable, Sequence
from datetime import datetime
from typing import TypeVar

from django.utils import timezone

from readiness.actions.claim_capture import claim, give_back, put_back, refuse, wait_untried
from readiness.actions.keep_scores import OfKit, ScoredCapture, keep_scores
from readiness.actions.same_as import same_samples_sentence
from readiness.intake.owners import Question, asked_together
from readiness.judgement.judging import judge
from readiness.judgement.opened_apart import open_apart
from readiness.models import Capture
from readiness.selectors.column_maps import column_maps
from readiness.selectors.limit_book import LimitBook
from readiness.selectors.owners import owner_of
from readiness.selectors.same_samples import SeenSamples
from readiness.signal.capture import Recording
from readiness.signal.errors import CaptureRefused
from readiness.signal.sample_marks import mark_of
from rentals.actions.record import Actor
from rentals.models import Kit
from rentals.store_away import StoreAway
from rentals.through_locks import through_locks

Result = TypeVar("Result")
#: Seconds that scoring waits for a database that something else holds; shorter than a claim lasts.
LONGEST_WAIT_S = 60
#: Seconds after which no further capture of a batch is begun: its claim must outlast the batch.
LONGEST_BATCH_S = 20
log = logging.getLogger(__name__)


def score_one(pk: int, *, at: datetime | None = None, actor: Actor = None) -> str:
    """Score a waiting capture as `score_some` does; its status afterwards."""
    score_some([pk], at=at, actor=actor)
    return Capture.objects.values_list("status", flat=True).get(pk=pk)


def score_some(
    keys: Sequence[int], *, at: datetime | None = None, actor: Actor = None
) -> list[int]:
    """Score those of the captures that wait, and judge each of their kits once; the keys of those
    for which no time was left.

    Safe to repeat and to run in many processes: a capture is scored by the one whose claim hits. A
    capture that makes the program itself fail is put back and tried again, as often as its lease
    allows, then it is not readable. One whose file lies in a store that is away waits for it,
    however long that takes. What follows for the kit is recorded under `actor`, else under the name
    of whoever dropped the file.
    """
    captures = _patiently(lambda: claim(keys))
    if not captures:
        return []
    begun, batch, scored = time.monotonic(), _begun(captures), []
    waiting = deque(captures)
    while waiting and time.monotonic() - begun <= LONGEST_BATCH_S:
        if found := _tried(waiting.popleft(), batch):
            scored.append(found)
    _keep(_by_kit(scored, actor), batch, at)
    return _patiently(lambda: give_back(waiting)) if waiting else []


def _patiently(act: Callable[[], Result]) -> Result:
    return through_locks(act, longest_s=LONGEST_WAIT_S)


class _Batch:
    """What the captures of a batch share: column maps, kits, limits, the samples seen before."""

    def __init__(self, captures: Sequence[Capture]) -> None:
        self.kits = {capture.kit.code: capture.kit for capture in captures if capture.kit}
        self.book = LimitBook(self.kits.values())
        self.maps = column_maps()
        self.seen = SeenSamples()


def _begun(captures: Sequence[Capture]) -> _Batch:
    """What they share. Where that cannot be read it is not the files that are at fault: they wait
    however long it takes, and the task fails with the trace.
    """
    try:
        return _Batch(captures)
    except Exception:
        _patiently(lambda: [wait_untried(capture) for capture in captures])
        raise


def _tried(capture: Capture, batch: _Batch) -> ScoredCapture | None:
    """What was found in a capture; None where its claim has ended without, or ends later."""
    try:
        return _scored(capture, batch)
    except CaptureRefused as refusal:
        refuse(capture, refusal.on_screen, refusal.missing)
    except StoreAway as away:
        log.warning("capture %s waits for its file: %s", capture.pk, away)
        _patiently(lambda: wait_untried(capture))
    except OSError as problem:
        reason = problem.strerror or problem
        refuse(capture, f"The stored file cannot be read: {reason}. Drop it again.")
    except Exception:
        _failed(capture)
    return None


def _failed(capture: Capture) -> None:
    """Whatever it was, the claim must not outlive it; the log and the task keep the trace."""
    log.exception("scoring of capture %s failed", capture.pk)
    _patiently(lambda: put_back(capture))


def _scored(capture: Capture, batch: _Batch) -> ScoredCapture | None:
    """Read, find the kit and the test, and judge; or ask what the file does not say."""
    with capture.file.open("rb") as stream:
        data = stream.read()
    recording = open_apart(capture.name, data, capture.declared, batch.maps)
    kit, test = owner_of(capture, recording.kit, recording.test, batch.kits)
    _note_taken(capture, recording)
    if isinstance(kit, Question) or isinstance(test, Question):
        _ask(capture, kit, test)
        return None
    mark = mark_of(recording.emg.samples, recording.rate_hz)
    capture.kit, capture.test = kit, test
    if mark and (twin := batch.seen.twin(capture, mark)):
        refuse(capture, same_samples_sentence(*twin))
        return None
    limits = batch.book.limits(kit)
    result = judge(recording, kit.code, test, limits)
    batch.seen.note(capture, mark)
    return ScoredCapture(capture, result, limits, mark)


def _ask(capture: Capture, kit: Kit | Question, test: str | Question) -> None:
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
    refuse(capture, question.sentence, question.missing)


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


def _by_kit(scored: Sequence[ScoredCapture], actor: Actor) -> list[OfKit]:
    """Kit by kit, by number; where a batch is of several drops, also by who dropped them."""
    groups: dict[tuple[int, int], list[ScoredCapture]] = {}
    for each in scored:
        key = (each.capture.kit_id or 0, each.capture.upload.by_id or 0)
        groups.setdefault(key, []).append(each)
    kits = []
    for _, some in sorted(groups.items(), key=lambda group: group[0]):
        first = some[0].capture
        assert first.kit is not None  # a capture is scored for a kit
        kits.append(OfKit(first.kit, actor or first.upload.by, some))
    return kits


def _keep(kits: Sequence[OfKit], batch: _Batch, at: datetime | None) -> None:
    """Keep what was found. Where that fails, kit by kit: one kit must not cost the others their
    results. The captures of that one are tried again.
    """
    if not kits:
        return
    try:
        _patiently(lambda: keep_scores(kits, batch.book, batch.seen, at=at))
    except Exception:
        if len(kits) > 1:
            for of_kit in kits:
                _keep([of_kit], batch, at)
            return
        for each in kits[0].scored:
            _failed(each.capture)
