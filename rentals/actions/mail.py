"""What is decided about a mail: approve, change, discard, send again, say that it was sent by other
means.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime

from django.db import IntegrityError, transaction
from django.utils import timezone

from rentals.errors import Refused
from rentals.models import Loan, Message, MessageBatch
from rentals.post.address import address_fault
from rentals.post.building import refuse_control_characters
from rentals.post.drafting import draft, note_step
from rentals.post.letter import html_page
from rentals.post.sending import note_chased
from rentals.post.tasks import send_soon

from .record import Actor, actor_name

State = Message.State
_FEW = 200


@dataclass
class Approved:
    """What came of approving several mails: the batch to watch, and a sentence for each that stays
    a draft.
    """

    batch: MessageBatch | None = None
    count: int = 0
    left: list[str] = field(default_factory=list)


def _locked(message: Message) -> Message:
    return Message.objects.select_for_update(of=("self",)).get(pk=message.pk)


def check_sendable(message: Message) -> None:
    """Raise Refused, naming the field, where a mail could not be sent as it stands."""
    fault = address_fault(message.to_address)
    if fault:
        raise Refused(fault, field="to_address")
    refuse_control_characters(message.to_name, "name", "to_name")
    refuse_control_characters(message.subject, "subject", "subject")
    if not message.subject.strip():
        raise Refused("Give the mail a subject.", field="subject")
    if not message.body_text.strip():
        raise Refused("Write something: a mail without words is not sent.", field="body_text")


@transaction.atomic
def approve(message: Message, *, actor: Actor = None, at: datetime | None = None) -> Message:
    """Let a draft go; it is sent in the background. Safe to repeat.

    Raises
    ------
    Refused
        If it was discarded, or its address or text cannot be sent.
    """
    message = _locked(message)
    if message.state == State.DISCARDED:
        raise Refused("This mail was discarded. Draft a new one from the loan.")
    if message.state != State.DRAFT:
        return message
    check_sendable(message)
    _let_go(message, actor, at)
    send_soon()
    return message


def _let_go(
    message: Message, actor: Actor, at: datetime | None, batch: MessageBatch | None = None
) -> None:
    message.state, message.approved_by, message.batch = State.APPROVED, actor_name(actor), batch
    message.attempts, message.next_try_at, message.last_error = 0, None, ""
    message.save(
        update_fields=[
            "state",
            "approved_by",
            "batch",
            "attempts",
            "next_try_at",
            "last_error",
            "automatic",
        ]
    )
    said = "Approved by its reminder rule." if message.automatic else "Approved."
    note_step(message, said, by=actor_name(actor), at=at)


@transaction.atomic
def approve_many(
    pks: Iterable[int], *, actor: Actor = None, at: datetime | None = None
) -> Approved:
    """Let all sendable drafts among these go as one batch; the others stay, each with its
    reason.
    """
    at = at or timezone.now()
    done = Approved()
    chosen = (
        Message.objects.select_for_update(of=("self",))
        .filter(pk__in=list(pks), state=State.DRAFT)
        .order_by("pk")
    )
    for message in chosen:
        try:
            check_sendable(message)
        except Refused as refusal:
            done.left.append(f"{message.to_name or message.subject}: {refusal.sentence}")
            continue
        if done.batch is None:
            done.batch = MessageBatch.objects.create(at=at, by=actor)
        _let_go(message, actor, at, done.batch)
        done.count += 1
    if done.count:
        send_soon()
    return done


@transaction.atomic
def approve_by_rule(message: Message, *, at: datetime | None = None) -> Message:
    """Let a reminder go that its rule sends without a reader; one that cannot be sent stays a
    draft.
    """
    message = _locked(message)
    try:
        check_sendable(message)
    except Refused:
        return message
    message.automatic = True
    _let_go(message, None, at)
    return message


@transaction.atomic
def discard(message: Message, *, actor: Actor = None, at: datetime | None = None) -> Message:
    """Take back a mail that has not left the house. Safe to repeat."""
    message = _locked(message)
    if message.state == State.DISCARDED:
        return message
    if message.state not in (*Message.UNSENT, State.FAILED):
        raise Refused(f"This mail is {message.get_state_display()}: it cannot be taken back.")
    message.state = State.DISCARDED
    message.save(update_fields=["state"])
    note_step(message, "Discarded.", by=actor_name(actor), at=at)
    return message


@transaction.atomic
def discard_many(pks: Iterable[int], *, actor: Actor = None, at: datetime | None = None) -> int:
    """Take back the drafts among these; returns how many."""
    drafts = list(Message.objects.filter(pk__in=list(pks), state=State.DRAFT).only("pk"))
    for message in drafts:
        discard(message, actor=actor, at=at)
    return len(drafts)


@transaction.atomic
def edit(
    message: Message,
    *,
    to_name: str,
    to_address: str,
    subject: str,
    body_text: str,
    actor: Actor = None,
    at: datetime | None = None,
) -> Message:
    """Change a draft, or a mail that failed, which becomes a draft again.

    Raises
    ------
    Refused
        If the mail has gone already, or what is written could not be sent.
    """
    message = _locked(message)
    if message.state not in (State.DRAFT, State.FAILED):
        raise Refused(f"This mail is {message.get_state_display()}: its words stand.")
    message.to_name, message.to_address = to_name.strip(), to_address.strip()
    message.subject, message.body_text = subject.strip(), body_text.strip()
    check_sendable(message)
    message.body_html = html_page(message.subject, message.body_text)
    message.state, message.last_error = State.DRAFT, ""
    try:
        with transaction.atomic():
            message.save()
    except IntegrityError as other:
        raise Refused(
            "A newer draft for the same occasion waits already: discard one of the two."
        ) from other
    # A paper of a mail that failed is printed anew: the address on it may be what was changed.
    message.attachments.exclude(paper="").update(content=b"")
    note_step(message, "Changed.", by=actor_name(actor), at=at)
    return message


@transaction.atomic
def take_address(message: Message, *, actor: Actor = None, at: datetime | None = None) -> Message:
    """Give an unsent mail the address that stands on the student's page now.

    Raises
    ------
    Refused
        If the mail has gone already, or that address cannot be used either.
    """
    student = message.loan.enrolment.student if message.loan else None
    return edit(
        message,
        to_name=student.name if student else message.to_name,
        to_address=student.email if student else message.to_address,
        subject=message.subject,
        body_text=message.body_text,
        actor=actor,
        at=at,
    )


@transaction.atomic
def resend(message: Message, *, actor: Actor = None, at: datetime | None = None) -> Message:
    """Send a mail again that failed, may have been sent, or was sent; the same words under the same
    Message-ID.

    Raises
    ------
    Refused
        If it is still on its way, or its address cannot be used.
    """
    message = _locked(message)
    if message.state in (State.APPROVED, State.QUEUED, State.SENDING):
        return message
    if message.state not in (State.FAILED, State.UNCERTAIN, State.SENT):
        raise Refused(f"This mail is {message.get_state_display()}: approve it instead.")
    check_sendable(message)
    message.state, message.attempts, message.next_try_at = State.APPROVED, 0, None
    message.last_error, message.claimed_at = "", None
    message.save(update_fields=["state", "attempts", "next_try_at", "last_error", "claimed_at"])
    note_step(message, "To be sent again.", by=actor_name(actor), at=at)
    send_soon()
    return message


@transaction.atomic
def note_sent(
    message: Message, *, how: str = "", actor: Actor = None, at: datetime | None = None
) -> Message:
    """Write down that a mail reached the student by other means, or did arrive although that was
    not certain.

    Raises
    ------
    Refused
        If it is being sent at this moment, or was discarded.
    """
    message = _locked(message)
    if message.state == State.SENT:
        return message
    if message.state in (State.SENDING, State.DISCARDED):
        raise Refused(f"This mail is {message.get_state_display()}.")
    message.state, message.sent_at, message.last_error = State.SENT, at or timezone.now(), ""
    message.next_try_at = None
    message.save(update_fields=["state", "sent_at", "last_error", "next_try_at"])
    note_step(message, how.strip()[:_FEW] or "Noted as sent.", by=actor_name(actor), at=at)
    note_chased()
    return message


@transaction.atomic
def write(occasion: str, loan: Loan, *, actor: Actor = None, at: datetime | None = None) -> Message:
    """Draft the mail of any occasion because somebody asks for it."""
    if occasion not in Message.Occasion.values:
        raise Refused("Choose what the mail is about.", field="occasion")
    return draft(occasion, loan, actor=actor, at=at)
