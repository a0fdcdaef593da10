"""What the entries of a ledger add up to."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from rentals.accounts import Account, EntryKind
from rentals.planning.ledger import LedgerLine, balance, last_day_of, line_of, sum_of

pytestmark = pytest.mark.any_database

DAY = date(2027, 1, 3)

# "Printing Plus", the running example of double entry in chapter 3 of OpenStax, "Principles of
# Accounting, Volume 1: Financial Accounting"; entries and balances from memory. Its accounts stand
# for ours of the same nature: cash is the bank, receivable what students owe, unearned revenue the
# deposits held, payable what is owed to a supplier, and so on.
CASH, RECEIVABLE, UNEARNED = Account.BANK, Account.STUDENT, Account.DEPOSITS
PAYABLE, REVENUE, EXPENSES = Account.CARRIER, Account.CHARGES, Account.WRITTEN_OFF
EQUITY, ASSETS = Account.COMPENSATION, Account.CARRIED
PRINTING_PLUS = [
    (3, CASH, EQUITY, 20000),
    (5, ASSETS, PAYABLE, 3500),
    (9, CASH, UNEARNED, 4000),
    (10, RECEIVABLE, REVENUE, 5500),
    (12, EXPENSES, CASH, 300),
    (14, EQUITY, CASH, 100),
    (17, CASH, REVENUE, 2800),
    (18, PAYABLE, CASH, 3500),
    (20, EXPENSES, CASH, 3600),
    (23, CASH, RECEIVABLE, 5500),
    (27, RECEIVABLE, REVENUE, 1200),
    (30, ASSETS, PAYABLE, 500),
]


def test_the_balances_of_a_textbooks_month_are_those_of_its_trial_balance():
    lines = [
        LedgerLine(EntryKind.CHARGE, debit, credit, Decimal(amount), date(2019, 1, day))
        for day, debit, credit, amount in PRINTING_PLUS
    ]
    assert balance(lines, CASH) == 24800
    assert balance(lines, RECEIVABLE) == 1200
    assert balance(lines, UNEARNED) == -4000
    assert balance(lines, PAYABLE) == -500
    assert balance(lines, REVENUE) == -9500
    assert balance(lines, EXPENSES) == 3900
    assert sum(balance(lines, account) for account in Account) == 0


@pytest.mark.parametrize(
    ("kind", "better"),
    [
        ("deposit_asked", 0),
        ("deposit_received", 1),
        ("deposit_released", 0),
        ("carried_out", -1),
        ("carried_in", 1),
        ("charge", -1),
        ("waived", 0),
        ("payment", 1),
        ("refund", -1),
        ("given_up", 1),
        ("claimed", 0),
        ("compensated", 0),
    ],
)
def test_what_an_entry_does_for_the_student(kind, better):
    assert line_of(EntryKind(kind), Decimal(7), DAY).for_the_student == 7 * better


def test_only_what_stands_is_counted():
    charge = line_of(EntryKind.CHARGE, Decimal(22), DAY)
    undone = replace(charge, taken_back=True)
    reversal = LedgerLine(EntryKind.REVERSAL, charge.credit, charge.debit, Decimal(22), DAY)
    later = line_of(EntryKind.CHARGE, Decimal(5), date(2027, 2, 1))
    lines = [charge, undone, reversal, later]
    assert sum_of(lines, EntryKind.CHARGE) == 27
    assert sum_of(lines, EntryKind.REFUND) == 0
    assert last_day_of(lines, EntryKind.CHARGE) == date(2027, 2, 1)
    assert last_day_of(lines, EntryKind.REFUND) is None
    assert reversal.for_the_student == 22
