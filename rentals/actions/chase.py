"""Shortfalls that a mail has asked for are chased from then on."""

from __future__ import annotations

from django.db.models import Exists, OuterRef

from rentals.errors import Refused
from rentals.models import Message, Shortfall

from .settle import chase


def chase_asked_for() -> int:
    """Chase every open shortfall whose mail has been sent; returns how many.

    Read from what was sent, not carried along with the sending: a crash in between loses nothing.
    """
    sent_mail = Message.objects.filter(
        loan=OuterRef("loan"),
        occasion=Message.Occasion.SHORTFALL,
        state=Message.State.SENT,
        drafted_at__gte=OuterRef("opened_at"),
    )
    asked_for = Shortfall.objects.filter(Exists(sent_mail), state=Shortfall.State.OPEN)
    chased = 0
    for shortfall in asked_for.select_related("loan"):
        try:
            chase(shortfall)
        except Refused:
            continue  # somebody ended it a moment ago
        chased += 1
    return chased
