"""What is owed, by whom and for how long: sums by age, over plain values."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

#: Ages in days at which the next bucket begins, and what each is called.
BUCKETS = ((0, "0 to 30 days"), (31, "31 to 60"), (61, "61 to 90"), (91, "over 90"))


class Debtor(StrEnum):
    """Who owes."""

    STUDENT = "students"
    PRACTICE = "us"
    CARRIER = "carriers"


#: Who owes whom, as a row of the list says it.
OWES: dict[Debtor, str] = {
    Debtor.STUDENT: "students owe us",
    Debtor.PRACTICE: "we owe students",
    Debtor.CARRIER: "carriers owe us",
}


@dataclass(frozen=True, slots=True)
class Debt:
    """An amount above zero that is owed on a loan since a day; `why` says what for."""

    loan: int
    debtor: Debtor
    amount: Decimal
    currency: str
    since: date
    why: str

    def days(self, today: date) -> int:
        """For how many days; a day to come counts as today."""
        return max((today - self.since).days, 0)


@dataclass(frozen=True)
class AgedSums:
    """What one sort of debtor owes in one currency: by bucket, and in all."""

    debtor: Debtor
    currency: str
    by_bucket: tuple[Decimal, ...]

    @property
    def words(self) -> str:
        return OWES[self.debtor]

    @property
    def total(self) -> Decimal:
        return sum(self.by_bucket, Decimal(0))


def bucket_of(days: int) -> int:
    """The place of an age among the buckets."""
    return max(place for place, (first, _) in enumerate(BUCKETS) if days >= first)


def aged(debts: Iterable[Debt], today: date) -> list[AgedSums]:
    """The sums by debtor and currency; amounts of two currencies are never added up."""
    sums: dict[tuple[Debtor, str], list[Decimal]] = defaultdict(lambda: [Decimal(0)] * len(BUCKETS))
    for debt in debts:
        sums[debt.debtor, debt.currency][bucket_of(debt.days(today))] += debt.amount
    order = list(Debtor)
    rows = sorted(sums, key=lambda row: (order.index(row[0]), row[1]))
    return [AgedSums(*row, tuple(sums[row])) for row in rows]
