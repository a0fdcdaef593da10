"""A loan's ledger, read from its rows."""

from decimal import Decimal

import pytest

from rentals.actions.settle import charge, recover
from rentals.models import Practice
from rentals.selectors.ledger import loan_currency, loan_lines, loan_sums
from tests.factories import assigned_loan
from tests.rentals.actions.acts import shortfall_of

pytestmark = pytest.mark.django_db


def test_the_lines_say_what_each_is_about_and_what_was_taken_back():
    short = shortfall_of("charger")
    charge(short, Decimal("22.5"))
    recover(short)
    asked, received, charged, reversal = loan_lines(short.loan)
    assert (asked.kind, received.kind, received.way) == (
        "deposit_asked",
        "deposit_received",
        "bank transfer",
    )
    assert (charged.about, str(charged.amount), charged.taken_back) == ("Charger", "22.50", True)
    assert (reversal.takes_back, reversal.for_the_student) == ("charge", Decimal("22.50"))


def test_the_currency_is_that_of_the_entries_and_the_practices_before_there_is_one():
    Practice.objects.update_or_create(pk=1, defaults={"currency": "JPY"})
    loan = assigned_loan()
    Practice.objects.filter(pk=1).update(currency="KWD")
    assert loan_currency(loan) == "JPY"
    assert str(loan_sums(loan).deposit) == "80"
