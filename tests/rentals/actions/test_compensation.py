"""What a carrier is asked for, pays, or does not pay."""

from decimal import Decimal

import pytest

from rentals.actions.balance import Paid
from rentals.actions.compensation import (
    carrier_owes,
    claim_compensation,
    drop_compensation,
    receive_compensation,
)
from rentals.actions.dispatch import dispatch
from rentals.errors import Refused
from rentals.selectors.ledger import loan_sums
from rentals.verify import verify
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db


def test_a_carrier_pays_in_parts_and_the_students_sums_stay():
    loan = packed_loan()
    with pytest.raises(Refused, match="has not gone out"):
        claim_compensation(loan, Paid(Decimal(50)))
    loan = dispatch(loan.kit)
    before = loan_sums(loan)
    with pytest.raises(Refused, match="above zero"):
        claim_compensation(loan, Paid(Decimal(0)))
    claim_compensation(loan, Paid(Decimal(50)))
    receive_compensation(loan, Paid(Decimal(20), "transfer"))
    with pytest.raises(Refused, match="not more"):
        receive_compensation(loan, Paid(Decimal(31)))
    with pytest.raises(Refused, match="in full"):
        drop_compensation(loan, reason="They refuse.")
    assert carrier_owes(loan) == 30
    receive_compensation(loan, Paid())
    with pytest.raises(Refused, match="Nothing is asked"):
        receive_compensation(loan, Paid())
    assert (carrier_owes(loan), loan_sums(loan)) == (0, before)
    assert verify() == []


def test_a_claim_is_taken_back_with_a_reason():
    loan = dispatch(packed_loan().kit)
    claim_compensation(loan, Paid(Decimal(50)))
    with pytest.raises(Refused, match="Say why"):
        drop_compensation(loan, reason=" ")
    drop_compensation(loan, reason="They refuse.")
    assert carrier_owes(loan) == 0
    assert verify() == []
