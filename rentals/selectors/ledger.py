"""The ledger of loans as lines and sums."""

from __future__ import annotations

from collections.abc import Iterable

from rentals.accounts import EntryKind
from rentals.models import Entry, Loan, Practice, Shortfall
from rentals.planning.ledger import LedgerLine
from rentals.planning.money import round_money
from rentals.planning.settlement import Claim, Settlement, settled


def entries_of(loan: Loan) -> list[Entry]:
    """The entries of a loan by day, with what each is about and what takes it back."""
    entries = loan.entries.select_related("shortfall__packing_line", "reverses")
    return list(entries.order_by("day", "pk"))


def ledger_lines(entries: Iterable[Entry]) -> list[LedgerLine]:
    """The same as plain values."""
    entries = list(entries)
    taken_back = {entry.reverses_id for entry in entries if entry.reverses_id}
    return [_line(entry, taken_back=entry.pk in taken_back) for entry in entries]


def _line(entry: Entry, *, taken_back: bool) -> LedgerLine:
    part = entry.shortfall.packing_line.name if entry.shortfall else ""
    (debit, _), (credit, _) = entry.postings
    return LedgerLine(
        kind=EntryKind(entry.kind),
        debit=debit,
        credit=credit,
        amount=round_money(entry.amount, entry.currency),
        day=entry.day,
        about=part,
        way=entry.get_way_display(),
        taken_back=taken_back,
        takes_back=EntryKind(entry.reverses.kind) if entry.reverses else None,
    )


def loan_currency(loan: Loan, practice: Practice | None = None) -> str:
    """The currency of a loan: that of its entries, the practice's before there is one."""
    first = loan.entries.values_list("currency", flat=True).first()
    return first or (practice or Practice.current()).currency


def loan_lines(loan: Loan) -> list[LedgerLine]:
    """The ledger of a loan as plain lines, by day."""
    return ledger_lines(entries_of(loan))


def claims_of(shortfalls: Iterable[Shortfall]) -> list[Claim]:
    """The money of shortfalls with their states."""
    return [Claim(short.amount, short.state) for short in shortfalls]


def loan_sums(loan: Loan, practice: Practice | None = None) -> Settlement:
    """The money of a loan as its ledger has it now, in the currency of the loan."""
    currency = loan_currency(loan, practice)
    return settled(loan_lines(loan), claims_of(loan.shortfalls.all()), currency)
