"""Taking back a mail that has not left the house."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from rentals import transaction
from rentals.errors import Refused
from rentals.models import Loan, Message
from rentals.states import DISCARDABLE_MAILS, UNSENT_MAILS

from .lock_order import lock_in_order
from .mail_rows import lock_mail, note_step
from .record import Actor, actor_name

State = Message.State


@transaction.atomic
def discard(message: Message, *, actor: Actor = None, at: datetime | None = None) -> Message:
    """Take back one mail. Safe to repeat; Refused where it has left."""
    message = lock_mail(message)
    if message.state == State.DISCARDED:
        return message
    if message.state not in DISCARDABLE_MAILS:
        raise Refused(f"This mail is {message.get_state_display()}: it cannot be taken back.")
    message.state = State.DISCARDED
    message.save(update_fields=["state"])
    note_step(message, "Discarded.", by=actor_name(actor), at=at)
    return message


@transaction.atomic
def discard_many(pks: Iterable[int], *, actor: Actor = None, at: datetime | None = None) -> int:
    """Take back the drafts among these; returns how many."""
    drafts = lock_in_order(Message.objects.filter(pk__in=list(pks), state=State.DRAFT))
    for message in drafts:
        discard(message, actor=actor, at=at)
    return len(drafts)


@transaction.atomic
def discard_unsent(
    loan: Loan, occasions: Iterable[str], *, reason: str, at: datetime | None = None
) -> int:
    """Take back the loan's mails of these occasions, because an act has overtaken them; returns how
    many.
    """
    unsent = Message.objects.filter(loan=loan, occasion__in=list(occasions), state__in=UNSENT_MAILS)
    discarded = 0
    for message in lock_in_order(unsent.only("pk")):
        # One that a worker claimed a moment ago is past stopping: the condition leaves it alone.
        still_here = Message.objects.filter(pk=message.pk, state__in=UNSENT_MAILS)
        if still_here.update(state=State.DISCARDED):
            note_step(message, f"Discarded. {reason}", at=at)
            discarded += 1
    return discarded
