"""Mails of the played practice that are on their way to a mail server, or were refused there."""

from __future__ import annotations

from django.contrib.auth.models import User

from rentals import transaction
from rentals.actions.approve import approve
from rentals.actions.claim_mail import claim, finish
from rentals.actions.draft import draft_on_request
from rentals.models import Loan, Message
from rentals.post.line import Delivery, Fate
from rentals.states import LoanStage, MessageState

from .clock import PracticeDays

_FATES = {
    MessageState.FAILED: Delivery(Fate.REFUSED, "The server knows no such mailbox."),
    MessageState.UNCERTAIN: Delivery(Fate.UNKNOWN, "The line broke after the mail was sent."),
}
_STATES = (
    MessageState.APPROVED,
    MessageState.QUEUED,
    MessageState.SENDING,
    MessageState.FAILED,
    MessageState.UNCERTAIN,
)


def mails_on_their_way(clock: PracticeDays, owner: User) -> None:
    """For each way to a server, one mail about a loan that is away, assigned or settled."""
    at = clock.at(0, 6)
    settled = Loan.objects.filter(stage=LoanStage.SETTLED).order_by("-pk")[:3]
    away = Loan.objects.filter(stage=LoanStage.AWAY, fault="").order_by("pk")[:2]
    occasions = [(loan, Message.Occasion.STATEMENT) for loan in settled]
    occasions += [(loan, Message.Occasion.ON_ITS_WAY) for loan in away]
    for (loan, occasion), state in zip(occasions, _STATES, strict=True):
        message = draft_on_request(occasion, loan, actor=owner, at=at)
        _bring_to(approve(message, actor=owner, at=at), state, clock)


@transaction.atomic
def _bring_to(message: Message, state: MessageState, clock: PracticeDays) -> None:
    """As the sending worker does, but for the paper, which anybody who looks has printed anew."""
    if state is MessageState.APPROVED:
        return
    now = clock.at(0, 6.5)
    message.state = MessageState.QUEUED
    message.save(update_fields=["state"])
    if state is MessageState.QUEUED:
        return
    claim(message, now)
    if state in _FATES:
        finish(message, _FATES[state], now)
