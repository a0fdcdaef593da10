"""What the ledger of loans says for reports: sums that stand, each in its own currency."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import Exists, F, OuterRef, Q, QuerySet, Sum

from rentals.accounts import EntryKind
from rentals.models import Entry, Shortfall
from rentals.planning.money import money_text

_COUNTED = (
    EntryKind.CHARGE,
    EntryKind.WAIVED,
    EntryKind.GIVEN_UP,
    EntryKind.COMPENSATION_RECEIVED,
)
_WORDS = {
    EntryKind.CHARGE: "charged",
    EntryKind.WAIVED: "written off",
    EntryKind.GIVEN_UP: "asked for no more",
    EntryKind.COMPENSATION_RECEIVED: "paid by carriers",
}


@dataclass
class BookedSums:
    """What was charged, what of that is asked for no more, what was written off, and what carriers
    paid.
    """

    charged: Decimal = Decimal(0)
    given_up: Decimal = Decimal(0)
    written_off: Decimal = Decimal(0)
    from_carriers: Decimal = Decimal(0)

    @property
    def from_students(self) -> Decimal:
        """What students bear."""
        return self.charged - self.given_up

    def add(self, kind: str, amount: Decimal) -> None:
        """Count the sum of one kind of entry."""
        match kind:
            case EntryKind.CHARGE:
                self.charged += amount
            case EntryKind.WAIVED:
                self.written_off += amount
            case EntryKind.GIVEN_UP:
                self.given_up += amount
            case EntryKind.COMPENSATION_RECEIVED:
                self.from_carriers += amount


def _standing(loans: Q) -> QuerySet[Entry]:
    """Entries of some loans that were not taken back; `loans` begins at an entry."""
    kinds = [kind.value for kind in _COUNTED]
    return Entry.objects.filter(loans, kind__in=kinds, reversed_by__isnull=True).order_by()


def booked_sums(loans: Q, by: str, currency: str) -> Mapping[Any, BookedSums]:
    """The sums in one currency by the field `by` of an entry; one query."""
    rows = _standing(loans).filter(currency=currency).values("kind", key=F(by))
    sums: dict[Any, BookedSums] = defaultdict(BookedSums)
    for row in rows.annotate(total=Sum("amount")):
        sums[row["key"]].add(row["kind"], row["total"])
    return sums


def booked_in_all(sums: Iterable[BookedSums]) -> BookedSums:
    """All of them together: they are of one currency."""
    total = BookedSums()
    for each in sums:
        total.charged += each.charged
        total.given_up += each.given_up
        total.written_off += each.written_off
        total.from_carriers += each.from_carriers
    return total


def other_currencies(loans: Q, currency: str) -> list[str]:
    """A sentence for each further currency: sums of several are never added."""
    rows = _standing(loans).exclude(currency=currency).values_list("currency", "kind")
    by_currency: dict[str, list[str]] = defaultdict(list)
    for code, kind, total in rows.annotate(total=Sum("amount")).order_by("currency", "kind"):
        by_currency[code].append(f"{_WORDS[EntryKind(kind)]} {money_text(total, code)}")
    return [
        f"In {code}, not among the sums: {', '.join(words)}." for code, words in by_currency.items()
    ]


def shortfalls_in(loans: Q, currency: str) -> QuerySet[Shortfall]:
    """Shortfalls of some loans that are kept in this currency; `loans` begins at a shortfall."""
    foreign = Entry.objects.filter(loan=OuterRef("loan")).exclude(currency=currency)
    return Shortfall.objects.filter(loans).exclude(Exists(foreign)).order_by()
