"""Whose mail it is to send: claimed, finished, put off, and given up when its worker died.

A mail is claimed by a lease (``rentals/actions/leases.py``) before the server hears of it; its fate
is committed before the next one is claimed. A worker that dies in between leaves a claim behind;
when its lease has run out, the mail "may have been sent", and a person decides. Nothing is ever
sent twice in silence.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from django.conf import settings
from django.db.models import Q, QuerySet
from django.utils import timezone

from rentals import transaction
from rentals.counts import counted
from rentals.models import Message
from rentals.post.line import PATIENCE, Delivery, Fate

from .leases import Lease
from .lock_order import lock_in_order
from .mail_rows import note_step

State = Message.State
TRIES = 3
FIRST_WAIT = timedelta(minutes=5)
NO_SERVER_WAIT = timedelta(minutes=2)
LONGEST_WAIT = FIRST_WAIT * 2**TRIES
LEAST_LEASE = timedelta(minutes=30)
LONGEST_ERROR = 500
LONGEST_PATH = 300


def lease() -> Lease:
    """How a mail is held: for longer than a living worker can be busy with one mail, a fresh line
    included.
    """
    seconds = getattr(settings, "EMAIL_TIMEOUT", None) or 20
    duration = max(LEAST_LEASE, timedelta(seconds=3 * PATIENCE * seconds))
    return Lease(
        Message, "state", State.SENDING, duration=duration, tries=TRIES, first_wait=FIRST_WAIT
    )


def due_mails(now: datetime) -> QuerySet[Message]:
    """Mails that were approved and whose next try has come, oldest first. One that is further off
    than any wait was laid down before the clock was set back.
    """
    waiting = Message.objects.filter(state__in=[State.APPROVED, State.QUEUED])
    has_come = Q(next_try_at__isnull=True) | Q(next_try_at__lte=now)
    of_another_clock = Q(next_try_at__gt=now + LONGEST_WAIT)
    return waiting.filter(has_come | of_another_clock).order_by("pk")


def claim(message: Message, now: datetime) -> bool:
    """Make a queued mail this worker's own; False where another worker was faster."""
    unclaimed = Message.objects.filter(
        pk=message.pk, state=State.QUEUED, claimed_at=message.claimed_at
    )
    if not lease().claim(unclaimed, now):
        return False
    message.refresh_from_db()
    return True


def finish(message: Message, delivery: Delivery, now: datetime) -> str:
    """Commit what became of a claimed mail; returns the state it is in from now on.

    A claim that was given up meanwhile is settled by what is known now.
    """
    change, step = _what_follows(message, delivery, now)
    with transaction.atomic():
        own_claim = lease().under_claim_of(message, or_in=[State.UNCERTAIN])
        if own_claim.update(**change) and step:
            note_step(message, step, at=now)
    return str(change["state"])


def _what_follows(
    message: Message, delivery: Delivery, now: datetime
) -> tuple[dict[str, object], str]:
    """The columns that change, and the step to note; without a step nothing is worth noting."""
    change: dict[str, object] = {"last_error": delivery.answer, "next_try_at": None}
    match delivery.fate:
        case Fate.TAKEN:
            file = delivery.written_to
            change |= {"state": State.SENT, "sent_at": now, "written_to": file[:LONGEST_PATH]}
            step = f"Written to {file}." if file else "Sent: the mail server took it."
        case Fate.UNKNOWN:
            change |= {"state": State.UNCERTAIN}
            step = f"May have been sent. {delivery.answer}"
        case Fate.NO_SERVER:
            # Not the mail's fault: it keeps its tries.
            change |= {"state": State.QUEUED, "next_try_at": now + NO_SERVER_WAIT}
            change |= {"attempts": message.attempts - 1}
            step = ""
        case Fate.LATER if not lease().is_used_up(message):
            wait = lease().wait_after(message)
            minutes = counted(wait.seconds // 60, "minute", "minutes")
            change |= {"state": State.QUEUED, "next_try_at": now + wait}
            step = (
                f"Try {message.attempts} of {TRIES}: {delivery.answer} The next try is in"
                f" {minutes}."
            )
        case _:
            change |= {"state": State.FAILED}
            step = f"Not sent. {delivery.answer}"
    return change, step


def put_off_all(reason: str, now: datetime) -> None:
    """No server: whatever else is due waits too, so that 300 mails do not knock at a closed door
    one after another.
    """
    with transaction.atomic():
        waiting = [mail.pk for mail in lock_in_order(due_mails(now).only("pk"))]
        Message.objects.filter(pk__in=waiting).update(
            next_try_at=now + NO_SERVER_WAIT, last_error=reason[:LONGEST_ERROR]
        )


def give_up_expired_claims(*, now: datetime | None = None) -> int:
    """Mails whose worker died while it held them: they may have been sent. Returns how many there
    were.
    """
    now = now or timezone.now()
    given_up = 0
    reason = "The worker ended while it sent this mail: the server may have it or not."
    for message in lease().expired(now).only("pk", "claimed_at"):
        with transaction.atomic():
            expired_claim = lease().under_claim_of(message)
            if expired_claim.update(state=State.UNCERTAIN, last_error=reason):
                note_step(message, f"May have been sent. {reason}", at=now)
                given_up += 1
    return given_up
