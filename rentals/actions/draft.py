"""Drafting a mail for an occasion of a loan.

An act that brings an occasion about (packing, dispatch, the return check, settling) calls
``draft_by_itself`` in its own transaction; reminders and people call ``draft`` and
``draft_on_request``. The draft then waits for its approval: see ``rentals/actions/approve.py``.
"""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone

from rentals import transaction
from rentals.errors import Refused
from rentals.models import Attachment, Loan, Message, Practice
from rentals.next_acts.occasions import REMINDERS
from rentals.post.address import address_fault
from rentals.post.letter import html_page
from rentals.selectors.enclosures import PAPER_OF, file_name
from rentals.selectors.letters import filled_letter
from rentals.selectors.wordings import Wordings, wordings_of
from rentals.student_tokens import has_marker

from .discard import discard_unsent
from .mail_rows import new_message_id, note_step
from .of_erased import is_erased, refuse_erased
from .record import Actor, actor_name
from .renew_mail import renew, why_overtaken
from .student_links import ensure_link

State = Message.State


def draft_by_itself(
    occasion: str,
    loan: Loan,
    *,
    practice: Practice | None = None,
    actor: Actor = None,
    at: datetime | None = None,
) -> Message | None:
    """Draft the mail of an occasion that has come up, where Setup wants that; None where it does
    not. The act that brought it about has locked the loan.
    """
    wordings = wordings_of(occasion)
    if not wordings.by_itself or is_erased(loan):
        return None
    at = at or timezone.now()
    waiting = _waiting(occasion, loan, at)
    return waiting or _drafted(occasion, loan, wordings, practice=practice, actor=actor, at=at)


def draft_on_request(
    occasion: str, loan: Loan, *, actor: Actor = None, at: datetime | None = None
) -> Message:
    """Draft the mail of any occasion because somebody asks for it.

    Raises
    ------
    Refused
        For no occasion, and for one whose mail would be untrue today: it says why.
    """
    if occasion not in Message.Occasion.values:
        raise Refused("Choose what the mail is about.", field="occasion")
    refuse_erased(loan)
    reason = why_overtaken(occasion, loan, timezone.localdate(at))
    if reason:
        raise Refused(f"{reason} Such a mail would be untrue.", field="occasion")
    return draft(occasion, loan, actor=actor, at=at)


@transaction.atomic
def draft(
    occasion: str,
    loan: Loan,
    *,
    actor: Actor = None,
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
    waiting = _waiting(occasion, loan, at) if rule_key is None else None
    if waiting is not None:
        return waiting
    if occasion in REMINDERS:
        discard_unsent(loan, REMINDERS, reason="A later reminder takes its place.", at=at)
    loan = Loan.objects.select_related("kit", "enrolment__student", "enrolment__run").get(
        pk=loan.pk
    )
    return _drafted(occasion, loan, wordings_of(occasion), actor=actor, at=at, rule_key=rule_key)


def _waiting(occasion: str, loan: Loan, at: datetime) -> Message | None:
    """The draft that waits already, with the facts of now; None where there is none, or where its
    facts took it away.
    """
    waiting = Message.objects.filter(loan=loan, occasion=occasion, state=State.DRAFT).first()
    if waiting is None:
        return None
    renewed = renew(waiting, at=at)
    return renewed if renewed.state == State.DRAFT else None


def _drafted(
    occasion: str,
    loan: Loan,
    wordings: Wordings,
    *,
    actor: Actor,
    at: datetime,
    rule_key: str | None = None,
    practice: Practice | None = None,
) -> Message:
    message = _write(occasion, loan, wordings, at, rule_key, practice)
    drafted = f"Drafted: {message.get_occasion_display()}."
    note_step(message, drafted, by=actor_name(actor), at=at)
    fault = address_fault(message.to_address)
    if fault:
        note_step(message, f"It cannot be sent yet. {fault}", at=at)
    _enclose(message, loan)
    return message


def _write(
    occasion: str,
    loan: Loan,
    wordings: Wordings,
    at: datetime,
    rule_key: str | None,
    practice: Practice | None,
) -> Message:
    student = loan.enrolment.student
    practice = practice or Practice.current()
    filled = filled_letter(loan, wordings, today=timezone.localdate(at), practice=practice)
    letter = filled.words
    if has_marker(letter.text):
        ensure_link(loan, at=at)
    return Message.objects.create(
        occasion=occasion,
        loan=loan,
        run=loan.enrolment.run,
        to_name=" ".join(student.name.split()),
        to_address=student.email.strip(),
        subject=letter.subject,
        body_text=letter.text,
        body_html=html_page(letter.subject, letter.text, filled.language),
        language=filled.language,
        message_id=new_message_id(practice),
        drafted_at=at,
        facts=filled.values,
        facts_on=timezone.localdate(at),
        rule_key=rule_key,
    )


def _enclose(message: Message, loan: Loan) -> None:
    paper = PAPER_OF.get(message.occasion)
    if paper is not None:
        Attachment.objects.create(message=message, file_name=file_name(paper, loan), paper=paper)
