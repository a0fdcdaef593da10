"""Changing a mail before it goes."""

from __future__ import annotations

from datetime import datetime

from django.db import IntegrityError
from django.utils import timezone

from rentals import transaction
from rentals.errors import Refused
from rentals.models import Message
from rentals.post.letter import html_page
from rentals.states import CHANGEABLE_MAILS

from .mail_rows import check_sendable, lock_mail, note_step
from .record import Actor, actor_name
from .renew_mail import facts_now

State = Message.State


@transaction.atomic
def edit_mail(
    message: Message,
    *,
    to_name: str,
    to_address: str,
    subject: str,
    body_text: str,
    words_read: bool = True,
    actor: Actor = None,
    at: datetime | None = None,
) -> Message:
    """Change a draft, or a mail that failed, which becomes a draft again. With `words_read` a mail
    that was held is released: whoever saved its words says that they hold.

    Raises
    ------
    Refused
        If the mail has gone already, or what is written could not be sent.
    """
    message = lock_mail(message)
    if message.state not in CHANGEABLE_MAILS:
        raise Refused(f"This mail is {message.get_state_display()}: its words stand.")
    at = at or timezone.now()
    words = (subject.strip(), body_text.strip())
    message.edited |= words != (message.subject, message.body_text)
    if message.edited and words_read:
        message.facts, message.facts_on = facts_now(message, at), timezone.localdate(at)
    message.to_name, message.to_address = to_name.strip(), to_address.strip()
    message.subject, message.body_text = words
    check_sendable(message)
    message.body_html = html_page(message.subject, message.body_text, message.language)
    message.state, message.last_error = State.DRAFT, ""
    _save_as_the_only_draft(message)
    # A paper of a mail that failed is printed anew: the address on it may be what was changed.
    message.attachments.exclude(paper="").update(content=b"")
    note_step(message, "Changed.", by=actor_name(actor), at=at)
    return message


def _save_as_the_only_draft(message: Message) -> None:
    try:
        with transaction.atomic():
            message.save()
    except IntegrityError as second_draft:
        raise Refused(
            "A newer draft for the same occasion waits already: discard one of the two."
        ) from second_draft


@transaction.atomic
def take_address(message: Message, *, actor: Actor = None, at: datetime | None = None) -> Message:
    """Give an unsent mail the address that stands on the student's page now.

    Raises
    ------
    Refused
        If the mail has gone already, or that address cannot be used either.
    """
    student = message.loan.enrolment.student if message.loan else None
    return edit_mail(
        message,
        to_name=student.name if student else message.to_name,
        to_address=student.email if student else message.to_address,
        subject=message.subject,
        body_text=message.body_text,
        words_read=False,
        actor=actor,
        at=at,
    )
