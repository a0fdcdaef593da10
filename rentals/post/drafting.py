"""Drafting a mail for an occasion of a loan, and taking back what has not left the house."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from datetime import datetime
from email.utils import parseaddr

from django.conf import settings
from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.utils import timezone

from rentals.models import Attachment, Loan, MailWording, Message, MessageStep

from .address import address_fault, wire_domain
from .letter import html_page
from .papers import PAPER_OF, file_name
from .usual_wording import USUAL
from .values import loan_values
from .wording import Wording, fill

Occasion, State = Message.Occasion, Message.State
#: Occasions that draft their mail by themselves until Setup says otherwise.
BY_ITSELF = {Occasion.PACKING_LIST.value, Occasion.SHORTFALL.value, Occasion.STATEMENT.value}


def wording_for(occasion: str) -> Wording:
    """The practice's own wording of an occasion, else the one Kitdesk came with."""
    own = MailWording.objects.filter(occasion=occasion).first()
    return Wording(own.subject, own.text) if own else USUAL[occasion]


def drafts_by_itself(occasion: str) -> bool:
    """Whether the mail of an occasion is drafted when it comes up, without anybody asking for
    it.
    """
    own = (
        MailWording.objects.filter(occasion=occasion)
        .values_list("drafted_by_itself", flat=True)
        .first()
    )
    return occasion in BY_ITSELF if own is None else own


def note_step(message: Message, text: str, *, by: str = "", at: datetime | None = None) -> None:
    """Write a line into what happened to a message."""
    MessageStep.objects.create(message=message, text=text[:500], by=by, at=at or timezone.now())


def draft_by_itself(
    occasion: str, loan: Loan, *, actor: AbstractBaseUser | None = None, at: datetime | None = None
) -> Message | None:
    """Draft the mail of an occasion that has come up, where Setup wants that; None where it does
    not.
    """
    return draft(occasion, loan, actor=actor, at=at) if drafts_by_itself(occasion) else None


@transaction.atomic
def draft(
    occasion: str,
    loan: Loan,
    *,
    actor: AbstractBaseUser | None = None,
    at: datetime | None = None,
    rule_key: str | None = None,
) -> Message:
    """A mail to the loan's student as a draft, with its paper attached; a repeat gives the draft
    that is there.

    A student without a usable address gets a draft too: its first step says what is wrong, and it
    cannot be approved before that is mended. Papers are printed when the mail goes out, not here.

    Raises
    ------
    IntegrityError
        If the rule has drafted its mail for this loan already (`rule_key`).
    """
    at = at or timezone.now()
    waiting = Message.objects.filter(loan=loan, occasion=occasion, state=State.DRAFT).first()
    if waiting is not None and rule_key is None:
        return waiting
    loan = Loan.objects.select_related("kit", "enrolment__student", "enrolment__run").get(
        pk=loan.pk
    )
    if waiting is not None:
        drop_unsent(loan, [occasion], reason="A later reminder takes its place.", at=at)
    student = loan.enrolment.student
    said = fill(wording_for(occasion), loan_values(loan, today=timezone.localdate(at)))
    message = Message.objects.create(
        occasion=occasion,
        loan=loan,
        run=loan.enrolment.run,
        to_name=" ".join(student.name.split()),
        to_address=student.email.strip(),
        subject=said.subject,
        body_text=said.text,
        body_html=html_page(said.subject, said.text),
        message_id=new_message_id(),
        drafted_at=at,
        rule_key=rule_key,
    )
    by = "" if actor is None else str(actor.get_username())
    note_step(message, f"Drafted: {message.get_occasion_display()}.", by=by, at=at)
    fault = address_fault(message.to_address)
    if fault:
        note_step(message, f"It cannot be sent yet. {fault}", at=at)
    paper = PAPER_OF.get(Occasion(occasion))
    if paper:
        Attachment.objects.create(message=message, file_name=file_name(paper, loan), paper=paper)
    return message


def new_message_id() -> str:
    """A Message-ID that no other mail has (RFC 5322 section 3.6.4), in the domain that mail is sent
    from.
    """
    domain = parseaddr(settings.DEFAULT_FROM_EMAIL)[1].rpartition("@")[2] or "localhost"
    return f"<{uuid.uuid4().hex}@{wire_domain(domain)}>"


@transaction.atomic
def drop_unsent(
    loan: Loan, occasions: Iterable[str], *, reason: str, at: datetime | None = None
) -> int:
    """Discard the loan's mails of these occasions that have not begun to leave; returns how
    many.
    """
    unsent = Message.objects.select_for_update().filter(
        loan=loan, occasion__in=list(occasions), state__in=Message.UNSENT
    )
    dropped = 0
    for message in unsent.only("pk"):
        # One that a worker claimed a moment ago is past stopping: the condition leaves it alone.
        if Message.objects.filter(pk=message.pk, state__in=Message.UNSENT).update(
            state=State.DISCARDED
        ):
            note_step(message, f"Discarded. {reason}", at=at)
            dropped += 1
    return dropped
