"""The outbox: mails that were approved leave one by one, and each is at any moment in exactly one
known state. ``rentals/actions/approve.py`` describes the whole way.
"""

from __future__ import annotations

import logging
from dataclasses import dataclass
from datetime import datetime

from django.db import DatabaseError
from django.utils import timezone

from rentals import transaction
from rentals.errors import Refused
from rentals.models import Attachment, Message
from rentals.post.building import build
from rentals.post.line import Delivery, Fate, MailLine
from rentals.selectors.enclosures import content_of
from rentals.selectors.letters import letter_of, mail_sender

from .chase import chase_asked_for
from .claim_mail import (
    LONGEST_ERROR,
    claim,
    due_mails,
    finish,
    give_up_expired_claims,
    put_off_all,
)
from .mail_rows import note_step
from .renew_mail import renew
from .student_links import with_student_page

log = logging.getLogger("rentals.post")
State = Message.State


@dataclass
class SentCounts:
    """How many mails of one round met which fate."""

    sent: int = 0
    later: int = 0
    failed: int = 0
    uncertain: int = 0

    def add(self, state: str) -> None:
        """Count one mail by the state it was left in."""
        self.sent += state == State.SENT
        self.later += state == State.QUEUED
        self.failed += state == State.FAILED
        self.uncertain += state == State.UNCERTAIN


def send_due_mails(*, now: datetime | None = None) -> SentCounts:
    """Send everything that is approved and due. Any number of workers may do this at the same
    time.

    Never call it inside a transaction: each claim and each fate is committed by itself.
    """
    counts = SentCounts(uncertain=give_up_expired_claims(now=now))
    line = MailLine()
    try:
        while (message := _next_mail(now or timezone.now())) is not None:
            delivery = _deliver(line, message)
            counts.add(finish(message, delivery, now or timezone.now()))
            if delivery.fate is Fate.NO_SERVER:
                put_off_all(delivery.answer, now or timezone.now())
    finally:
        line.close()
    chase_asked_for()
    return counts


def _next_mail(now: datetime) -> Message | None:
    """The next mail that is due, claimed for this worker alone; None where nothing is due."""
    while (waiting := due_mails(now).first()) is not None:
        message = _renewed(waiting, now)
        if message.state == State.APPROVED:
            _queue(message)
        elif message.state == State.QUEUED and claim(message, now):
            return message
    return None


def _renewed(message: Message, now: datetime) -> Message:
    """The mail with the facts of now; one whose facts cannot be read fails alone."""
    try:
        return renew(message, at=now)
    except DatabaseError:
        raise
    except Exception as problem:
        log.exception("The facts of message %s cannot be read", message.pk)
        _fail_before_sending(message, f"Its facts cannot be read: {problem}")
        message.refresh_from_db()
        return message


def _queue(message: Message) -> None:
    """Print the papers of an approved mail, keep their bytes, and put it into the queue."""
    attachments = message.attachments.select_related("message")
    try:
        contents = {attachment.pk: content_of(attachment) for attachment in attachments}
    except DatabaseError:
        raise
    except Exception as problem:
        # Whatever is wrong with this one paper, the mails behind it must not wait for ever.
        log.exception("The paper of message %s cannot be printed", message.pk)
        _fail_before_sending(message, f"Its paper cannot be printed: {problem}")
        return
    with transaction.atomic():
        approved = Message.objects.filter(pk=message.pk, state=State.APPROVED)
        if not approved.update(state=State.QUEUED, last_error=""):
            return
        for pk, content in contents.items():
            Attachment.objects.filter(pk=pk).update(content=content)


def _fail_before_sending(message: Message, reason: str) -> None:
    with transaction.atomic():
        waiting = Message.objects.filter(pk=message.pk, state__in=[State.APPROVED, State.QUEUED])
        if waiting.update(state=State.FAILED, last_error=reason[:LONGEST_ERROR]):
            note_step(message, reason)


def _deliver(line: MailLine, message: Message) -> Delivery:
    try:
        letter = with_student_page(letter_of(message), message.loan)
        mail = build(letter, mail_sender())
        mail.message()
    except Refused as refusal:
        return Delivery(Fate.REFUSED, refusal.sentence)
    except DatabaseError:
        raise
    except Exception as problem:
        # A mail that cannot be built is this mail's trouble alone: nothing of it has left.
        log.exception("Message %s cannot be built", message.pk)
        return Delivery(Fate.REFUSED, f"The mail cannot be built: {problem}")
    return line.send(mail)
