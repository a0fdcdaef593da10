"""What is next with money that is owed."""

from __future__ import annotations

from .ways import Argument, Way

PAY_BACK = Way("Pay back", "rentals:loan_paid", Argument.LOAN)
TAKE_PAYMENT = Way("Note the payment", "rentals:loan_paid", Argument.LOAN)
TAKE_DEPOSIT = Way("Note the deposit", "rentals:loan_deposit", Argument.LOAN)
TAKE_COMPENSATION = Way("Note the payment", "rentals:loan_compensated", Argument.LOAN)


def money_way(*, we_owe: bool, carrier: bool, ended: bool) -> Way:
    """The page on which a debt of a loan is noted as paid; before a loan has ended, what a student
    owes is the deposit.
    """
    if carrier:
        return TAKE_COMPENSATION
    if we_owe:
        return PAY_BACK
    return TAKE_PAYMENT if ended else TAKE_DEPOSIT
