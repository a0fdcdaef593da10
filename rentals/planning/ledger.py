"""What the entries of a loan's ledger add up to, over plain values."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from rentals.accounts import SIDES, Account, EntryKind

#: Accounts whose sum is how a student stands with us: what they owe, less the deposit we hold.
OF_THE_STUDENT = (Account.STUDENT, Account.DEPOSITS)


@dataclass(frozen=True)
class LedgerLine:
    """One entry: an amount above zero, debited to one account and credited to another on a day.

    `taken_back` is for an entry that a later one reverses, `takes_back` the kind that a reversal
    reverses. `about` names the part or the reason.
    """

    kind: EntryKind
    debit: Account
    credit: Account
    amount: Decimal
    day: date
    about: str = ""
    way: str = ""
    taken_back: bool = False
    takes_back: EntryKind | None = None

    @property
    def standing(self) -> bool:
        """Whether it counts: it neither reverses an entry nor is reversed."""
        return not (self.taken_back or self.kind is EntryKind.REVERSAL)

    @property
    def for_the_student(self) -> Decimal:
        """By how much it betters how the student stands with us; below zero where it worsens it,
        zero where it does not touch it.
        """
        ours = (self.debit in OF_THE_STUDENT, self.credit in OF_THE_STUDENT)
        if ours[0] == ours[1]:
            return self.amount * 0
        return -self.amount if ours[0] else self.amount


def line_of(kind: EntryKind, amount: Decimal, day: date, about: str = "") -> LedgerLine:
    """An entry of a kind between its own two accounts."""
    debit, credit = SIDES[kind]
    return LedgerLine(kind, debit, credit, amount, day, about)


def balance(lines: Iterable[LedgerLine], account: Account) -> Decimal:
    """Debit less credit of one account."""
    total = Decimal(0)
    for line in lines:
        if line.debit is account:
            total += line.amount
        if line.credit is account:
            total -= line.amount
    return total


def sum_of(lines: Iterable[LedgerLine], *kinds: EntryKind) -> Decimal:
    """What the standing entries of these kinds come to."""
    amounts = (line.amount for line in lines if line.standing and line.kind in kinds)
    return sum(amounts, Decimal(0))


def last_day_of(lines: Sequence[LedgerLine], *kinds: EntryKind) -> date | None:
    """The latest day of a standing entry of these kinds; None where there is none."""
    days = [line.day for line in lines if line.standing and line.kind in kinds]
    return max(days, default=None)
