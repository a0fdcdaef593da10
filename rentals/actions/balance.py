"""The day on which what was left of a settled loan was paid: the deposit's rest to the student, or
by the student what was still to pay.
"""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction
from django.utils import timezone

from rentals.dates import short_date
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import Loan
from rentals.next_acts import may_note_payment
from rentals.selectors.losses import sums_of
from rentals.states import LoanStage

from .record import Actor, lock_kit, record_kit
from .renew_mail import renew_loan


@transaction.atomic
def note_balance_paid(
    loan: Loan, on: date | None, *, actor: Actor = None, at: datetime | None = None
) -> Loan:
    """Write down the day; ``None`` says that it is not paid after all. A mail that waits says it
    too.

    Raises
    ------
    Refused
        If the loan is not settled, nothing is left to pay, or the day is yet to come.
    """
    kit = lock_kit(loan.kit_id)
    loan = Loan.objects.select_for_update().get(pk=loan.pk)
    if not may_note_payment(LoanStage(loan.stage)):
        raise Refused("The loan is not settled yet: what is left to pay may still change.")
    sums = sums_of(loan)
    if not (sums.refund or sums.to_pay):
        raise Refused("Nothing is left to pay on either side.")
    at = at or timezone.now()
    if on is not None and on > timezone.localdate(at):
        raise Refused(
            f"{short_date(on)} is yet to come. Give the day on which it was paid.", field="on"
        )
    if on == loan.balance_paid_on:
        return loan
    loan.balance_paid_on = on
    loan.save(update_fields=["balance_paid_on"])
    record_kit(kit, Verb.NOTED, _words(sums.refund > 0, on), actor=actor, loan=loan, at=at)
    renew_loan(loan, at=at)
    return loan


def _words(is_refund: bool, on: date | None) -> str:
    what = "What was left of the deposit was paid back" if is_refund else "The student paid"
    if on is None:
        what = "What was left of the deposit" if is_refund else "What the student owes"
        return f"{what} is not paid after all."
    return f"{what} on {short_date(on)}."
