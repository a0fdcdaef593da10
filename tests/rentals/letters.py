"""Mails for tests, one per address, approved or not."""

from __future__ import annotations

from django.utils import timezone

from rentals.actions.approve import approve_many
from rentals.actions.mail_rows import new_message_id
from rentals.models import Message, MessageBatch, MessageStep, Practice
from rentals.post.letter import html_page


def mail_to(address: str, **facts: object) -> Message:
    """A draft to an address, of no loan."""
    words = {
        "to_name": "Viola Tester",
        "subject": "Your kit",
        "body_text": "Dear student,\n\nyour kit.",
        **facts,
    }
    words.setdefault("body_html", html_page(str(words["subject"]), str(words["body_text"])))
    return Message.objects.create(
        occasion="packing_list",
        to_address=address,
        message_id=new_message_id(Practice.current()),
        drafted_at=timezone.now(),
        **words,
    )


def approved(*addresses: str) -> list[Message]:
    """Mails to these addresses as they stand right after their approval, nothing sent yet."""
    mails = [mail_to(address) for address in addresses]
    Message.objects.filter(pk__in=[mail.pk for mail in mails]).update(state="approved")
    return mails


def states() -> dict[str, str]:
    """State of every mail, by its address."""
    return dict(Message.objects.values_list("to_address", "state"))


def steps(message: Message) -> list[str]:
    """What happened to a mail, in order."""
    return list(MessageStep.objects.filter(message=message).values_list("text", flat=True))


def approve_all(actor: object = None) -> MessageBatch:
    """Approve every draft as one batch."""
    approval = approve_many(Message.objects.values_list("pk", flat=True), actor=actor)
    assert approval.batch is not None
    return approval.batch
