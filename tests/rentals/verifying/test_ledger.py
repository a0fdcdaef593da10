"""A ledger that says something else than the events or the shortfalls is told."""

from decimal import Decimal

import pytest

from rentals.actions.settle import charge
from rentals.models import Entry, Shortfall
from rentals.verify import verify
from tests.factories import assigned_loan
from tests.rentals.actions.acts import shortfall_of

pytestmark = pytest.mark.django_db


def test_an_entry_that_no_event_tells_of_shows():
    loan = assigned_loan()
    received = loan.entries.get(kind="deposit_received")
    Entry.objects.create(
        loan=loan,
        kind="payment",
        debit="bank",
        credit="student",
        amount=5,
        currency="EUR",
        day=received.day,
        at=received.at,
    )
    new = Entry.objects.last().pk
    assert [fault.partition(":")[2] or fault for fault in verify()] == [
        f" no event tells of entry {new} of the ledger.",
        f"Entry {new} stands in no line of the log.",
    ]


def test_a_shortfall_whose_ledger_says_otherwise_shows():
    short = shortfall_of("charger")
    charge(short, Decimal(22))
    assert verify() == []
    Shortfall.objects.update(amount=Decimal(21))
    assert "its ledger says otherwise" in verify()[0]
    Shortfall.objects.update(amount=Decimal(22), state="recovered")
    assert "is recovered, its ledger says otherwise" in verify()[0]


def test_a_shortfall_that_is_charged_without_an_entry_shows():
    shortfall_of("charger")
    Shortfall.objects.update(state="charged", closed_at="2027-01-01T00:00Z")
    assert "is charged, its ledger says otherwise" in verify()[0]
