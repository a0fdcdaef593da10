"""What is next with a mail, and what stands against it in words."""

from __future__ import annotations

from rentals.states import CHANGEABLE_MAILS, DISCARDABLE_MAILS, MessageState

from .ways import Argument, NextAct, Way


def _message(act: str, route: str) -> Way:
    return Way(act, route, Argument.MESSAGE)


_OPEN_MAIL = _message("Open", "rentals:message")
_READ_MAIL = _message("Read", "rentals:message")
#: The one way that is a form sent at once, not a page to open.
APPROVE_MAIL = "rentals:message_approve"
_APPROVE = _message("Approve and send", APPROVE_MAIL)
_MEND_ADDRESS = _message("Mend the address", "rentals:message_edit")
_READ_AGAIN = _message("Read and change", "rentals:message_edit")
_SEND_AGAIN = _message("Send again", "rentals:message_resend")
_MOVING = NextAct(None, _OPEN_MAIL, "It moves on by itself.")

MESSAGE_ACTS: dict[MessageState, NextAct] = {
    MessageState.DRAFT: NextAct(_APPROVE, _READ_MAIL),
    MessageState.APPROVED: _MOVING,
    MessageState.QUEUED: _MOVING,
    MessageState.SENDING: _MOVING,
    MessageState.SENT: NextAct(None, _OPEN_MAIL, "It has gone."),
    MessageState.FAILED: NextAct(_SEND_AGAIN, _OPEN_MAIL),
    MessageState.UNCERTAIN: NextAct(_SEND_AGAIN, _OPEN_MAIL),
    MessageState.DISCARDED: NextAct(None, _OPEN_MAIL, "It was discarded."),
}


def message_act(state: MessageState, *, address_fault: bool = False, held: bool = False) -> NextAct:
    """What is next with a mail; with `address_fault` its address cannot be written to, a draft that
    is `held` has words that no longer agree with the loan.
    """
    row = MESSAGE_ACTS[state]
    if address_fault and may_change(state):
        return NextAct(_MEND_ADDRESS, row.there)
    if held and state is MessageState.DRAFT:
        return NextAct(_READ_AGAIN, row.there)
    return row


def may_change(state: MessageState) -> bool:
    """Whether text and address of a mail can be changed: it is with us and at rest."""
    return state in CHANGEABLE_MAILS


def may_end_by_hand(state: MessageState) -> bool:
    """Whether a mail can be discarded, or noted as sent by other means: nobody outside has it."""
    return state in DISCARDABLE_MAILS


def may_have_arrived(state: MessageState) -> bool:
    """Whether the student may have a mail already, so that sending it again may double it."""
    return state in (MessageState.UNCERTAIN, MessageState.SENT)


def message_sentence(state: MessageState, error: str) -> str:
    """What stands against a mail, in words; empty where nothing does."""
    if state is MessageState.UNCERTAIN:
        return (
            f"This mail may have been sent. {error} Ask the student or look into the mail server's"
            " log, then note it as sent or send it again."
        )
    if state is MessageState.FAILED:
        return f"It was not sent. {error}"
    if state is MessageState.DRAFT and error:
        return f"It is held. {error}"
    if state is MessageState.DISCARDED and error:
        return f"It was discarded. {error}"
    return ""
