"""The ledger on a loan's page."""

from decimal import Decimal

import pytest

from rentals.actions.settle import charge, recover, settle
from rentals.selectors.loan_money import loan_money
from tests.rentals.actions.acts import shortfall_of

pytestmark = pytest.mark.django_db


def test_the_rows_add_up_to_what_is_left():
    short = shortfall_of("charger")
    charge(short, Decimal(100), reason="left on the train")
    loan = settle(short.loan)
    money = loan_money(loan)
    assert [(row.words, row.stands) for row in money.rows] == [
        ("deposit asked", 0),
        ("deposit received", 80),
        ("charge", -20),
        ("deposit set off", -20),
    ]
    assert money.rows[2].about == "Charger, left on the train"
    assert money.balance == "Still to pay: €20.00."
    assert (money.takes_payment, money.may_give_up, money.takes_deposit) == (True, True, False)
    recover(short)
    last = loan_money(loan).rows[-1]
    assert (last.words, last.stands) == ("taken back: charge", 80)
