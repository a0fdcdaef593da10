"""Loans whose student has said what arrived, for the tests."""

from rentals.actions.arrival_check import send_arrival_check
from rentals.actions.dispatch import dispatch
from rentals.models import Loan
from rentals.planning.arrival import Arrived
from tests.factories import packed_loan


def loan_away() -> Loan:
    return dispatch(packed_loan().kit)


def all_here(loan: Loan, **lacking: Arrived) -> dict[int, Arrived]:
    """Every line of a loan as arrived, but for those of these part kinds."""
    return {line.pk: lacking.get(line.part_kind, Arrived()) for line in loan.packing_lines.all()}


def loan_with_arrival(**lacking: Arrived) -> Loan:
    loan = loan_away()
    send_arrival_check(loan, all_here(loan, **lacking))
    return loan
