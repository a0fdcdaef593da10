"""Entries are written with an event, rounded to their currency, and taken back by their mirror."""

from datetime import date
from decimal import Decimal

import pytest
from django.utils import timezone

from rentals.accounts import EntryKind
from rentals.actions.ledger import (
    ENTRY_FACTS,
    facts_of_entry,
    ledger_data,
    post_entry,
    release_deposit,
    reverse_entry,
    standing_entry,
)
from rentals.actions.settle import charge, recover, settle, waive
from rentals.errors import Refused
from rentals.models import Entry, Message, Part, Practice
from rentals.selectors.ledger import loan_sums
from rentals.verify import verify
from tests.factories import assigned_loan
from tests.rentals.actions.acts import shortfall_of

pytestmark = pytest.mark.django_db


def test_an_amount_is_rounded_and_one_of_nothing_is_no_entry():
    loan = assigned_loan()
    entry = post_entry(loan, EntryKind.PAYMENT, Decimal("1.005"))
    assert (entry.amount, entry.currency) == (Decimal("1.01"), "EUR")
    assert post_entry(loan, EntryKind.PAYMENT, Decimal("0.004")) is None
    for amount, day, sentence in ((-1, None, "below zero"), (1, date(2999, 1, 1), "yet to come")):
        with pytest.raises(Refused, match=sentence):
            post_entry(loan, EntryKind.PAYMENT, Decimal(amount), day=day)


def test_a_loan_keeps_the_currency_it_began_with():
    loan = assigned_loan()
    Practice.objects.update_or_create(pk=1, defaults={"currency": "CHF"})
    assert post_entry(loan, EntryKind.PAYMENT, Decimal(1)).currency == "EUR"


def test_an_entry_is_taken_back_once():
    loan = assigned_loan()
    entry = standing_entry(loan, EntryKind.DEPOSIT_RECEIVED)
    reversal = reverse_entry(entry)
    assert (reversal.debit, reversal.credit) == (entry.credit, entry.debit)
    for taken_back in (entry, reversal):
        with pytest.raises(Refused, match="taken back already"):
            reverse_entry(taken_back)
    assert standing_entry(loan, EntryKind.DEPOSIT_RECEIVED) is None
    assert loan_sums(loan).deposit_open == 80


def test_what_an_event_says_of_entries_is_what_the_rows_say():
    loan = assigned_loan()
    entry = release_deposit(loan)
    assert ledger_data(None) == {}
    row = Entry.objects.filter(pk=entry.pk).values_list(*ENTRY_FACTS).get()
    assert ledger_data(entry)["ledger"] == [facts_of_entry(*row)]


@pytest.mark.parametrize(
    "decide", [lambda short: charge(short, Decimal(22)), lambda short: waive(short, reason="worn")]
)
def test_what_turns_up_takes_back_what_was_decided(decide):
    short = shortfall_of("charger")
    decide(short)
    recover(short)
    short.refresh_from_db()
    sums = loan_sums(short.loan)
    assert (short.state, sums.charged, sums.written_off) == ("recovered", 0, 0)
    with pytest.raises(Refused, match="already recovered"):
        recover(short)
    assert verify() == []


def test_a_part_that_comes_after_the_settling_is_refunded_with_a_statement_anew():
    short = shortfall_of("charger")
    charge(short, Decimal(100))
    loan = settle(short.loan)
    assert loan_sums(loan).to_pay == 20
    Message.objects.filter(occasion="statement").update(state="sent", sent_at=timezone.now())
    recover(short)
    sums = loan_sums(loan)
    assert (sums.charged, sums.refund, sums.to_pay) == (0, 80, 0)
    anew = Message.objects.get(occasion="statement", state="draft")
    assert "To be paid back to you: €80.00" in anew.body_text
    assert Entry.objects.filter(loan=loan, kind="reversal").count() == 1
    assert Part.objects.get(kind="charger").place == "spare"
    assert verify() == []
