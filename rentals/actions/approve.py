"""Letting a mail go. The way of a mail from an act to the server starts here:

1. An act (pack, dispatch, finish the check, settle) or a reminder has drafted it: ``draft.py``.
2. ``approve`` checks the words and the address, and the mail is *approved*.
3. ``mail_tasks.send_soon`` starts the sending once this transaction has committed.
4. ``renew_mail.renew`` looks once more whether it is true today: a mail that is not is filled
   anew, held, or dropped. ``send.send_due_mails`` takes the mails one by one; each is printed
   (its papers' bytes are kept) and *queued*: ``selectors/enclosures.py``.
5. ``claim_mail.claim`` makes it this worker's own, committed: it is *being sent*.
6. ``selectors/letters.letter_of`` turns its row into a plain letter,
   ``post/building.build`` that letter into an e-mail.
7. ``post/line.MailLine.send`` speaks SMTP and says what became of it.
8. ``claim_mail.finish`` commits that: *sent*, *failed*, *queued* again, or *may have been sent*.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime

from django.utils import timezone

from rentals import transaction
from rentals.errors import Refused
from rentals.models import Message, MessageBatch
from rentals.states import MOVING_MAILS

from .mail_rows import check_sendable, lock_mail, note_step
from .mail_tasks import send_soon
from .record import Actor, actor_name
from .renew_mail import check_true, renew

State = Message.State


@transaction.atomic
def approve(message: Message, *, actor: Actor = None, at: datetime | None = None) -> Message:
    """Let a draft go; it is sent in the background. Safe to repeat. One that an event has overtaken
    is discarded instead, and says so.

    Raises
    ------
    Refused
        If it was discarded, its address or text cannot be sent, or words changed by hand no longer
        agree with the loan.
    """
    message = lock_mail(message)
    if message.state == State.DISCARDED:
        raise Refused("This mail was discarded. Draft a new one from the loan.")
    if message.state != State.DRAFT:
        return message
    message = renew(message, at=at)
    if message.state != State.DRAFT:
        return message
    if message.edited:
        check_true(message, at=at)
    check_sendable(message)
    _let_go(message, actor, at)
    send_soon()
    return message


@dataclass
class BatchApproval:
    """What came of approving several mails: the batch to watch, how many go, and a sentence for
    each that stays a draft.
    """

    batch: MessageBatch | None = None
    count: int = 0
    staying: list[str] = field(default_factory=list)


@transaction.atomic
def approve_many(
    pks: Iterable[int], *, actor: Actor = None, at: datetime | None = None
) -> BatchApproval:
    """Let all sendable drafts among these go as one batch; the others stay, each with its
    reason.
    """
    at = at or timezone.now()
    approval = BatchApproval()
    drafts = Message.objects.select_for_update(of=("self",)).filter(
        pk__in=list(pks), state=State.DRAFT
    )
    for message in drafts.order_by("pk"):
        message = renew(message, at=at)
        try:
            _check_goes(message)
        except Refused as refusal:
            name = message.to_name or message.subject
            approval.staying.append(f"{name}: {refusal.sentence}")
            continue
        if approval.batch is None:
            approval.batch = MessageBatch.objects.create(at=at, by=actor)
        _let_go(message, actor, at, approval.batch)
        approval.count += 1
    if approval.count:
        send_soon()
    return approval


def _check_goes(message: Message) -> None:
    """Raise Refused for a draft that was just held or discarded, or that cannot be sent."""
    if message.state != State.DRAFT or message.last_error:
        raise Refused(message.last_error)
    check_sendable(message)


@transaction.atomic
def approve_by_rule(
    message: Message,
    *,
    step: str = "Approved by its reminder rule.",
    at: datetime | None = None,
) -> Message:
    """Let a mail go that a rule of Setup sends without a reader; one that cannot be sent stays a
    draft. `step` is what its history says of that.
    """
    message = lock_mail(message)
    try:
        check_sendable(message)
    except Refused:
        return message
    message.automatic = True
    _let_go(message, None, at, step=step)
    return message


@transaction.atomic
def resend(message: Message, *, actor: Actor = None, at: datetime | None = None) -> Message:
    """Send a mail again that failed, may have been sent, or was sent; the same words under the same
    Message-ID, as long as their facts are those of now.

    Raises
    ------
    Refused
        If it was never approved, its address cannot be used, or what it says is no longer true.
    """
    message = lock_mail(message)
    if message.state in MOVING_MAILS:
        return message
    if message.state not in (State.FAILED, State.UNCERTAIN, State.SENT):
        raise Refused(f"This mail is {message.get_state_display()}: approve it instead.")
    check_true(message, at=at)
    check_sendable(message)
    _start_afresh(message, at)
    message.claimed_at = None
    message.save(update_fields=[*_AFRESH, "claimed_at"])
    note_step(message, "To be sent again.", by=actor_name(actor), at=at)
    send_soon()
    return message


_AFRESH = ("state", "let_go_at", "attempts", "next_try_at", "last_error")


def _start_afresh(message: Message, at: datetime | None) -> None:
    message.state, message.let_go_at = State.APPROVED, at or timezone.now()
    message.attempts, message.next_try_at, message.last_error = 0, None, ""


def _let_go(
    message: Message,
    actor: Actor,
    at: datetime | None,
    batch: MessageBatch | None = None,
    step: str = "Approved.",
) -> None:
    _start_afresh(message, at)
    message.approved_by, message.batch = actor_name(actor), batch
    message.save(update_fields=[*_AFRESH, "approved_by", "batch", "automatic"])
    note_step(message, step, by=actor_name(actor), at=at)
