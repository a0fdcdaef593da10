"""What is next with a part that is sent in place of a faulty one."""

from __future__ import annotations

from dataclasses import dataclass

from .ways import Argument, NextAct, Way


def _way(act: str, route: str) -> Way:
    return Way(act, route, Argument.REPLACEMENT)


_SEND = _way("Pack and send it", "rentals:replacement_send")
CANCEL_REPLACEMENT = _way("Cancel it", "rentals:replacement_cancel")
_IS_HERE = _way("The faulty one is here", "rentals:replacement_faulty_back")
_SEE_LOAN = Way("See loan", "rentals:loan", Argument.LOAN)


@dataclass(frozen=True)
class ReplacementSituation:
    """How far a replacement is: sent, cancelled, the faulty part expected back by itself or here;
    the student still has the kit.
    """

    away: bool
    sent: bool = False
    cancelled: bool = False
    alone: bool = False
    faulty_back: bool = False


def replacement_act(row: ReplacementSituation) -> NextAct:
    """What is next with a replacement: to send it, or to wait for the faulty part."""
    if row.cancelled:
        return NextAct(None, _SEE_LOAN, "It did not go out.")
    if not row.sent:
        return NextAct(_SEND, _SEND)
    if row.faulty_back:
        return NextAct(None, _SEE_LOAN, "Sent; the faulty one is here.")
    if row.away and row.alone:
        return NextAct(_IS_HERE, _IS_HERE)
    reason = "Sent; both come back with the kit." if row.away else "Sent; see the check."
    return NextAct(None, _SEE_LOAN, reason)
