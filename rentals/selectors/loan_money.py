"""The ledger of one loan as its page shows it, and what can be noted in it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from rentals.accounts import KIND_WORDS, Account
from rentals.models import Entry, Loan
from rentals.next_acts import may_note_payment, may_take_deposit
from rentals.planning.ledger import LedgerLine, balance
from rentals.planning.payment_code import loan_reference, reference_text
from rentals.planning.settlement import settled
from rentals.states import LoanStage

from .ledger import claims_of, entries_of, ledger_lines, loan_currency
from .losses import balance_of


@dataclass(frozen=True)
class LedgerRowShown:
    """One entry with how the student stands after it: below zero where the student owes us."""

    entry: Entry
    words: str
    about: str
    amount: Decimal
    stands: Decimal


@dataclass(frozen=True)
class LoanMoney:
    """The entries by day and their currency, in words what is left, and what can be noted.

    `deposit_open` is what has not come of the deposit, `carrier_owes` what the carrier was asked
    for.
    """

    rows: list[LedgerRowShown]
    currency: str
    reference: str
    balance: str
    deposit_open: Decimal
    carrier_owes: Decimal
    takes_deposit: bool
    takes_payment: bool
    may_give_up: bool
    may_claim: bool


def loan_money(loan: Loan) -> LoanMoney:
    """All of that for a loan."""
    entries, currency, stage = entries_of(loan), loan_currency(loan), LoanStage(loan.stage)
    lines = ledger_lines(entries)
    sums = settled(lines, claims_of(loan.shortfalls.all()), currency)
    over = may_note_payment(stage)
    return LoanMoney(
        rows=list(_rows(entries, lines)),
        currency=currency,
        reference=reference_text(loan_reference(loan.pk)),
        balance=" ".join(balance_of(sums, currency)) if entries or not loan.is_open else "",
        deposit_open=sums.deposit_open,
        carrier_owes=balance(lines, Account.CARRIER),
        takes_deposit=bool(sums.deposit_open) and may_take_deposit(stage),
        takes_payment=over and bool(sums.refund or sums.to_pay or sums.paid_on),
        may_give_up=over and bool(sums.to_pay),
        may_claim=loan.dispatched_at is not None,
    )


def _rows(entries: list[Entry], lines: list[LedgerLine]) -> Iterator[LedgerRowShown]:
    stands = Decimal(0)
    for entry, line in zip(entries, lines, strict=True):
        stands += line.for_the_student
        words = KIND_WORDS[line.kind]
        if line.takes_back:
            words = f"{words}: {KIND_WORDS[line.takes_back]}"
        about = ", ".join(filter(None, (line.about, line.way, entry.memo)))
        yield LedgerRowShown(entry, words, about, line.amount, stands)
