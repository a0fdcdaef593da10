"""A mail that reached the student, as far as the desk knows: by other means, or not certainly."""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone

from rentals import transaction
from rentals.errors import Refused
from rentals.models import Message

from .chase import chase_asked_for
from .mail_rows import lock_mail, note_step
from .record import Actor, actor_name

State = Message.State
LONGEST_HOW = 200


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
    message = lock_mail(message)
    if message.state == State.SENT:
        return message
    if message.state in (State.SENDING, State.DISCARDED):
        raise Refused(f"This mail is {message.get_state_display()}.")
    message.state, message.sent_at = State.SENT, at or timezone.now()
    message.last_error, message.next_try_at = "", None
    message.save(update_fields=["state", "sent_at", "last_error", "next_try_at"])
    step = how.strip()[:LONGEST_HOW] or "Noted as sent."
    note_step(message, step, by=actor_name(actor), at=at)
    chase_asked_for()
    return message
