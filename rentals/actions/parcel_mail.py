"""The mails of packing and posting: drafted by themselves, and let go at once where Setup wants
that.
"""

from __future__ import annotations

from datetime import datetime

from rentals.models import Loan, Practice

from .approve import approve_by_rule
from .draft import draft_by_itself
from .mail_tasks import send_soon
from .record import Actor


def write_of_parcel(occasion: str, loan: Loan, *, actor: Actor, at: datetime) -> None:
    """Draft the mail of an occasion of a locked loan; it leaves by itself where Setup says so."""
    practice = Practice.current()
    message = draft_by_itself(occasion, loan, practice=practice, actor=actor, at=at)
    if message is None or not practice.mails_leave_at_once:
        return
    approve_by_rule(message, step="Approved by itself, as Setup says.", at=at)
    send_soon()
