"""Stock that expires during a loan: the owner may let it go out, with a reason that stays."""

from __future__ import annotations

from datetime import datetime

from rentals import transaction
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import Kit, Loan, LoanStage

from .record import Actor, lock_kit, lock_open_loan, record_kit, state_word

FEWEST_LETTERS = 10


@transaction.atomic
def allow_short_dated(
    kit: Kit | str, *, reason: str, actor: Actor, at: datetime | None = None
) -> Loan:
    """Let pieces go into a kit's parcel that expire before it is due back; expired ones never go.

    Raises
    ------
    Refused
        If it is not the owner who says so, no reason is written, or the parcel is closed.
    """
    kit = lock_kit(kit)
    loan = lock_open_loan(kit)
    if loan.stage != LoanStage.ASSIGNED:
        raise Refused(f"Kit {kit.code} is {state_word(kit)}: its parcel is closed.")
    if actor is None or not actor.is_superuser:
        raise Refused(
            "Only the owner can let pieces go out that expire during the loan.", field="reason"
        )
    reason = reason.strip()[:500]
    if len(reason) < FEWEST_LETTERS:
        raise Refused(
            "Write the reason in a sentence; it stays on the loan and in the kit's history.",
            field="reason",
        )
    loan.short_dated_reason = reason
    loan.save(update_fields=["short_dated_reason"])
    text = f"Pieces that expire during the loan may go out: {reason}"
    record_kit(kit, Verb.NOTED, text, actor=actor, loan=loan, at=at)
    return loan
