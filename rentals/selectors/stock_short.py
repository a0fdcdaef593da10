"""Stock that does not reach for one parcel."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Q, Sum
from django.db.models.functions import Coalesce

from rentals.models import PackingLine, StockItem
from rentals.next_acts import RESTOCK
from rentals.planning.stock_need import needed_and_here
from rentals.selectors.next_steps import Button, button


@dataclass(frozen=True)
class Short:
    """An item of which there are too few pieces for a parcel, and where that is mended."""

    item: StockItem
    needed: int
    have: int
    expired: int
    next: Button

    @property
    def words(self) -> str:
        """The two numbers, as ``12 needed, 0 here``."""
        return needed_and_here(self.needed, self.have)


def short_of(lines: Iterable[PackingLine], today: date) -> dict[int, Short]:
    """What lacks for these lines of one parcel, by the key of the item; one query."""
    needed: dict[int, int] = {}
    for line in lines:
        if line.stock_item_id is not None:
            needed[line.stock_item_id] = needed.get(line.stock_item_id, 0) + line.quantity
    if not needed:
        return {}
    lasting = Q(batches__expires_on__isnull=True) | Q(batches__expires_on__gte=today)
    items = StockItem.objects.filter(pk__in=needed).annotate(
        fresh=Coalesce(Sum("batches__on_hand", filter=lasting), 0),
        old=Coalesce(Sum("batches__on_hand", filter=Q(batches__expires_on__lt=today)), 0),
    )
    found = {}
    for item in items:
        have = item.fresh if item.by_batch else item.on_hand
        if have < needed[item.pk]:
            expired = item.old if item.by_batch else 0
            restock = button(RESTOCK, item=item)
            found[item.pk] = Short(item, needed[item.pk], have, expired, restock)
    return found
