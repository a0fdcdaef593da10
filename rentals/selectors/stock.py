"""Counted stock for lists and pages: what may go out, and its marks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from django.db.models import F, Q, QuerySet, Sum
from django.db.models.functions import Coalesce

from rentals.marks import Mark, Sign, mark_of
from rentals.models import ElectrodeBatch, StockItem
from rentals.selectors.shopping_list import items_to_order


def items_listed(q: str, today: date) -> QuerySet[StockItem]:
    """Items that fit the filter, by name, each with the pieces that are `usable` on a day and
    those that are `expired`.
    """
    expired = Q(batches__expires_on__lt=today)
    lasting = Q(batches__expires_on__gte=today) | Q(batches__expires_on__isnull=True)
    items = StockItem.objects.annotate(
        usable=Coalesce(Sum("batches__on_hand", filter=lasting), 0) + F("on_hand"),
        expired=Coalesce(Sum("batches__on_hand", filter=expired), 0),
    )
    if q:
        items = items.filter(Q(name__icontains=q) | Q(shelf__icontains=q) | Q(kind__icontains=q))
    return items.order_by("name")


@dataclass(frozen=True)
class StockRow:
    """One item of the list, the pieces that may go out, and its marks."""

    item: StockItem
    usable: int
    marks: list[Mark]


def stock_rows(items: Iterable[StockItem], today: date) -> list[StockRow]:
    """The rows of items as `items_listed` gives them."""
    due = {row.item.pk for row in items_to_order(today)}
    return [_row(item, due=item.pk in due) for item in items]


def _row(item: StockItem, *, due: bool) -> StockRow:
    counts = vars(item)
    usable, expired = counts["usable"], counts["expired"]
    return StockRow(item, usable, list(_marks(usable, expired, due=due)))


def _marks(usable: int, expired: int, *, due: bool) -> Iterator[Mark]:
    if usable <= 0:
        yield mark_of(Sign.OUT_OF_STOCK)
    else:
        yield mark_of(Sign.REORDER if due else Sign.IN_STOCK)
    if expired:
        yield mark_of(Sign.EXPIRED)


def batch_mark(batch: ElectrodeBatch, today: date) -> Mark:
    """How a batch is shown on a day."""
    if batch.expires_on is not None and batch.expires_on < today:
        return mark_of(Sign.EXPIRED, "expired, does not go out")
    return mark_of(Sign.IN_STOCK if batch.on_hand else Sign.USED_UP)
