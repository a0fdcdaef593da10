"""The outbox: mails that were approved leave one by one, and each is at any moment in exactly one
known state.

A mail is claimed by a conditional update that is committed before the server hears of it, and its
fate is committed before the next one is claimed. A worker that dies in between leaves a claim
behind; when its lease has run out, the mail "may have been sent", and a person decides. Nothing is
ever sent twice in silence.
"""

from __future__ import annotations

import logging
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.db import DatabaseError, transaction
from django.db.models import Exists, F, OuterRef, Q
from django.utils import timezone

from rentals.actions.settle import chase
from rentals.errors import Refused
from rentals.models import Attachment, Message, Shortfall

from .building import build
from .drafting import note_step
from .line import PATIENCE, Fate, Line, Outcome
from .papers import content_of

log = logging.getLogger("rentals.post")
State = Message.State
TRIES = 3
FIRST_WAIT = timedelta(minutes=5)
NO_SERVER_WAIT = timedelta(minutes=2)
LEAST_LEASE = timedelta(minutes=30)


def lease() -> timedelta:
    """How long a claim holds: longer than a living worker can be busy with one mail, a fresh line
    included.
    """
    seconds = getattr(settings, "EMAIL_TIMEOUT", None) or 20
    return max(LEAST_LEASE, timedelta(seconds=3 * PATIENCE * seconds))


@dataclass
class Drained:
    """How many mails of one drain met which fate."""

    sent: int = 0
    later: int = 0
    failed: int = 0
    uncertain: int = 0


def drain(*, now: datetime | None = None) -> Drained:
    """Send everything that is approved and due. Any number of workers may do this at the same
    time.
    """
    done = Drained(uncertain=give_up_expired_claims(now=now))
    line = Line()
    try:
        while (message := _claim(now or timezone.now())) is not None:
            outcome = _deliver(line, message)
            _write_down(message, outcome, done, now or timezone.now())
            if outcome.fate is Fate.NO_SERVER:
                _hold_all(outcome.said, now or timezone.now())
    finally:
        line.close()
    note_chased()
    return done


def _claim(now: datetime) -> Message | None:
    """The next mail that is due, claimed for this worker alone; None where nothing is due."""
    due = Message.objects.filter(Q(state=State.QUEUED) | Q(state=State.APPROVED)).filter(
        Q(next_try_at__isnull=True) | Q(next_try_at__lte=now)
    )
    while (candidate := due.order_by("pk").first()) is not None:
        if candidate.state == State.APPROVED:
            _queue(candidate)
            continue
        mine = Message.objects.filter(
            pk=candidate.pk, state=State.QUEUED, claimed_at=candidate.claimed_at
        ).update(state=State.SENDING, claimed_at=now, attempts=F("attempts") + 1)
        if mine:
            candidate.refresh_from_db()
            return candidate
    return None


def _queue(message: Message) -> None:
    """Print the papers of an approved mail, keep their bytes, and put it into the queue."""
    try:
        printed = [
            (kept.pk, content_of(kept)) for kept in message.attachments.select_related("message")
        ]
    except DatabaseError:
        raise
    except Exception as problem:
        # Whatever is wrong with this one paper, the mails behind it must not wait for ever.
        log.exception("The paper of message %s cannot be printed", message.pk)
        _fail_before_sending(message, f"Its paper cannot be printed: {problem}")
        return
    with transaction.atomic():
        if not Message.objects.filter(pk=message.pk, state=State.APPROVED).update(
            state=State.QUEUED, last_error=""
        ):
            return
        for pk, content in printed:
            Attachment.objects.filter(pk=pk).update(content=content)


def _fail_before_sending(message: Message, sentence: str) -> None:
    with transaction.atomic():
        changed = Message.objects.filter(pk=message.pk, state=State.APPROVED)
        if changed.update(state=State.FAILED, last_error=sentence[:500]):
            note_step(message, sentence)


def _deliver(line: Line, message: Message) -> Outcome:
    try:
        mail = build(message)
        mail.message()
    except Refused as refusal:
        return Outcome(Fate.REFUSED, refusal.sentence)
    except DatabaseError:
        raise
    except Exception as problem:
        # A mail that cannot be built is this mail's trouble alone: nothing of it has left.
        log.exception("Message %s cannot be built", message.pk)
        return Outcome(Fate.REFUSED, f"The mail cannot be built: {problem}")
    return line.send(mail)


def _write_down(message: Message, outcome: Outcome, done: Drained, now: datetime) -> None:
    """Commit the fate of a claimed mail; a claim that was given up meanwhile is settled by what is
    known now.
    """
    change: dict[str, object] = {"last_error": outcome.said, "next_try_at": None}
    match outcome.fate:
        case Fate.TAKEN:
            change |= {"state": State.SENT, "sent_at": now, "written_to": outcome.written_to[:300]}
            step = (
                f"Written to {outcome.written_to}."
                if outcome.written_to
                else "Sent: the mail server took it."
            )
            done.sent += 1
        case Fate.UNKNOWN:
            change |= {"state": State.UNCERTAIN}
            step = f"May have been sent. {outcome.said}"
            done.uncertain += 1
        case Fate.NO_SERVER:
            # Not the mail's fault: it keeps its tries.
            change |= {
                "state": State.QUEUED,
                "attempts": message.attempts - 1,
                "next_try_at": now + NO_SERVER_WAIT,
            }
            step = ""
            done.later += 1
        case Fate.LATER if message.attempts < TRIES:
            wait = FIRST_WAIT * 2 ** (message.attempts - 1)
            change |= {"state": State.QUEUED, "next_try_at": now + wait}
            step = (
                f"Try {message.attempts} of {TRIES}: {outcome.said} The next try is in"
                f" {wait.seconds // 60} minutes."
            )
            done.later += 1
        case _:
            change |= {"state": State.FAILED}
            step = f"Not sent. {outcome.said}"
            done.failed += 1
    with transaction.atomic():
        mine = Message.objects.filter(
            pk=message.pk, state__in=[State.SENDING, State.UNCERTAIN], claimed_at=message.claimed_at
        )
        if mine.update(**change) and step:
            note_step(message, step, at=now)


def _hold_all(sentence: str, now: datetime) -> None:
    """No server: whatever else is due waits too, so that 300 mails do not knock at a closed door
    one after another.
    """
    due = Message.objects.filter(state__in=[State.QUEUED, State.APPROVED])
    due.filter(Q(next_try_at__isnull=True) | Q(next_try_at__lte=now)).update(
        next_try_at=now + NO_SERVER_WAIT, last_error=sentence[:500]
    )


def give_up_expired_claims(*, now: datetime | None = None) -> int:
    """Mails whose worker died while it held them: they may have been sent. Returns how many there
    were.
    """
    now = now or timezone.now()
    expired = Message.objects.filter(state=State.SENDING, claimed_at__lt=now - lease())
    given_up = 0
    sentence = "The worker ended while it sent this mail: the server may have it or not."
    for message in expired.only("pk", "claimed_at"):
        with transaction.atomic():
            mine = Message.objects.filter(
                pk=message.pk, state=State.SENDING, claimed_at=message.claimed_at
            )
            if mine.update(state=State.UNCERTAIN, last_error=sentence):
                note_step(message, f"May have been sent. {sentence}", at=now)
                given_up += 1
    return given_up


def note_chased() -> int:
    """Shortfalls that a mail has asked for are chased from now on; returns how many.

    Read from what was sent, not carried along with the sending: a crash in between loses nothing.
    """
    asked = Message.objects.filter(
        loan=OuterRef("loan"),
        occasion=Message.Occasion.SHORTFALL,
        state=State.SENT,
        drafted_at__gte=OuterRef("opened_at"),
    )
    noted = 0
    for shortfall in Shortfall.objects.filter(
        Exists(asked), state=Shortfall.State.OPEN
    ).select_related("loan"):
        try:
            chase(shortfall)
        except Refused:
            continue  # somebody ended it a moment ago
        noted += 1
    return noted
