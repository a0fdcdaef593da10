from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from rentals.actions.balance import note_balance_paid
from rentals.actions.settle import charge, settle
from rentals.models import Shortfall
from rentals.paper.statement import settling_statement
from rentals.planning.settlement import CHARGED, UNDECIDED
from rentals.selectors.paper_facts.statements import statement_facts
from tests.rentals.actions.acts import shortfall_of
from tests.rentals.paper.reading import text_of

pytestmark = pytest.mark.django_db


def test_the_statement_lists_the_loans_shortfalls(practice):
    short = shortfall_of("licence_key")
    charge(short, Decimal(30))
    loan = short.loan
    text = text_of(settling_statement(statement_facts(loan)).pdf)
    assert "Licence key 1 missing, charged €30.00 - €30.00" in text
    assert "as of" in text and "To be paid back to you €50.00" in text
    loan = settle(loan, at=datetime(2031, 5, 6, 9, tzinfo=UTC))
    text = text_of(settling_statement(statement_facts(loan)).pdf)
    assert "settled on 6 May 2031" in text
    assert "To be paid back to you €50.00" in text
    note_balance_paid(loan, date(2031, 5, 7), at=datetime(2031, 5, 8, 9, tzinfo=UTC))
    text = text_of(settling_statement(statement_facts(loan)).pdf)
    assert "be paid back" not in text and "Paid back to you on 7 May 2031 -€50.00" in text


def test_the_states_the_money_rule_counts_are_states_that_rows_have():
    assert {CHARGED, *UNDECIDED} <= set(Shortfall.State.values)
    assert tuple(Shortfall.UNSETTLED) == UNDECIDED
