"""Stock that loans have used up: pieces and, where a pack has a price, their worth."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import F, Q, Sum

from rentals.models import PackingLine, PartKind


@dataclass
class UsedStock:
    """Pieces by their use, their worth, and the pieces whose item has no price on file."""

    electrodes: int = 0
    further: int = 0
    worth: Decimal = Decimal(0)
    unpriced: int = 0

    def add(self, row: Mapping[str, Any]) -> None:
        """Count a grouped row of one item."""
        number = row["number"]
        if row["kind"] == PartKind.ELECTRODES:
            self.electrodes += number
        else:
            self.further += number
        if row["price"] is None:
            self.unpriced += number
        else:
            self.worth += row["price"] * number / row["size"]


def used_stock(loans: Q, by: str) -> dict[Any, UsedStock]:
    """What the loans used of stock that does not come back, by the field `by` of a packing line;
    one query.

    Grouped by item, so that its price is multiplied exactly: SQLite divides whole numbers without a
    rest.
    """
    lines = PackingLine.objects.filter(loans, stock_item__isnull=False, comes_back=False)
    rows = lines.values(
        key=F(by),
        kind=F("part_kind"),
        price=F("stock_item__pack_price"),
        size=F("stock_item__pack_size"),
    ).annotate(number=Sum("quantity"))
    return _by_key(rows.order_by())


def _by_key(rows: Iterable[Mapping[str, Any]]) -> dict[Any, UsedStock]:
    used: dict[Any, UsedStock] = defaultdict(UsedStock)
    for row in rows:
        used[row["key"]].add(row)
    return used


def used_in_all(used: Iterable[UsedStock]) -> UsedStock:
    """All of them together."""
    total = UsedStock()
    for each in used:
        total.electrodes += each.electrodes
        total.further += each.further
        total.worth += each.worth
        total.unpriced += each.unpriced
    return total
