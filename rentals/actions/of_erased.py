"""Loans of students who were erased: nobody is left to pay, to be paid or to be written to."""

from __future__ import annotations

from rentals.errors import Refused
from rentals.models import Loan


def is_erased(loan: Loan) -> bool:
    """Whether the student of a loan was erased."""
    return loan.enrolment.student.erased_at is not None


def refuse_erased(loan: Loan) -> None:
    """Leave the money and the mails of such a loan as they are.

    Raises
    ------
    Refused
        If the student was erased.
    """
    if is_erased(loan):
        raise Refused(
            "The student of this loan was erased: its money and mails stay as they are. A part that"
            " turned up is moved on its own page; counted pieces are counted in the stock."
        )
