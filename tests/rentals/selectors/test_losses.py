"""What an act would lose, by name and in money."""

from decimal import Decimal

import pytest

from rentals.actions.dispatch import dispatch
from rentals.actions.pack import tick
from rentals.actions.receive import write_off
from rentals.actions.settle import charge, waive
from rentals.selectors.losses import owed_of, parts_of, sums_in_words, ticks_of
from tests.factories import assigned_loan, complete_kit, packed_loan

pytestmark = pytest.mark.django_db


def test_what_should_come_back_is_named_with_its_worth():
    owed = owed_of(packed_loan())
    assert "2 × Wrist band: €6.00" in owed.lines
    assert owed.total == "€427.00"
    assert len(owed.lines) == 7


def test_parts_and_ticks_are_named():
    kit = complete_kit()
    assert len(parts_of(kit)) == 5
    loan = assigned_loan(kit)
    assert ticks_of(loan) == ""
    tick(loan.packing_lines.first())
    assert ticks_of(loan) == "1 ticked line"


def test_sums_are_told_until_all_is_decided():
    loan = write_off(dispatch(packed_loan().kit).kit, reason="It was stolen.")
    first, *others = loan.shortfalls.order_by("pk")
    charge(first, Decimal(100))
    assert sums_in_words(loan) == [
        "Deposit paid: €80.00.",
        "Charged: €100.00.",
        "Not decided yet: €187.00.",
        "Still to pay: €20.00.",
    ]
    for short in others:
        waive(short, reason="A gift.")
    assert sums_in_words(loan)[2] == "Written off, at the practice's cost: €187.00."
