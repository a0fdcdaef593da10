"""What every act on a mail does to its rows: lock the mail, check its words, note a step."""

from __future__ import annotations

import uuid
from datetime import datetime
from email.utils import parseaddr

from django.conf import settings
from django.utils import timezone

from rentals.models import Message, MessageStep, Practice
from rentals.post.address import wire_domain
from rentals.post.checking import check_letter

LONGEST_STEP = 500
_NOBODYS = "kitdesk.invalid"


def lock_mail(message: Message) -> Message:
    """The mail, read anew and locked until the transaction ends."""
    return Message.objects.select_for_update(of=("self",)).get(pk=message.pk)


def check_sendable(message: Message) -> None:
    """Raise Refused, naming the field, where a mail could not be sent as it stands."""
    check_letter(
        to_name=message.to_name,
        to_address=message.to_address,
        subject=message.subject,
        text=message.body_text,
    )


def note_step(message: Message, text: str, *, by: str = "", at: datetime | None = None) -> None:
    """Write a line into what happened to a mail."""
    MessageStep.objects.create(
        message=message, text=text[:LONGEST_STEP], by=by, at=at or timezone.now()
    )


def new_message_id(practice: Practice) -> str:
    """A Message-ID that no other mail has (RFC 5322 section 3.6.4), in the domain that mail is sent
    from. Without such a domain it stands in the practice's own, else in one that can never be
    anybody's (RFC 2606); never in localhost, which is every machine's.
    """
    senders = (parseaddr(settings.DEFAULT_FROM_EMAIL)[1], practice.email)
    domain = next((name for name in map(_domain_of, senders) if "." in name), _NOBODYS)
    return f"<{uuid.uuid4().hex}@{domain}>"


def _domain_of(address: str) -> str:
    try:
        return wire_domain(address.rpartition("@")[2])
    except UnicodeError:
        return ""
