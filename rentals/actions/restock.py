"""Counted stock: take, put back, restock, count."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import F
from django.utils import timezone

from rentals import transaction
from rentals.dates import short_date
from rentals.errors import Refused
from rentals.models import ElectrodeBatch, StockItem
from rentals.planning.stock_need import check_expiry, lasts, needed_and_here

from .record import Actor, record_stock


def lock_item(item: StockItem) -> StockItem:
    """The item, locked until the transaction ends."""
    return StockItem.objects.select_for_update().get(pk=item.pk)


@dataclass(frozen=True)
class StockTaken:
    """Pieces of one line that came from one place; `batch` is None where none is kept."""

    batch: ElectrodeBatch | None
    pieces: int


def take_together(
    orders: Sequence[tuple[int, int]], *, until: Mapping[int, date]
) -> list[list[StockTaken]]:
    """Take pieces of several items from stock inside a running transaction, earliest expiry first
    among the batches that last long enough.

    Parameters
    ----------
    orders : sequence of (item key, pieces)
        An item may stand there more than once.
    until : mapping
        The last day on which the pieces of each item must be usable.

    Returns
    -------
    list of lists
        What each entry of `orders` was served from, in its order.

    Raises
    ------
    Refused
        If there is not enough of an item that may go out; says how much there is.
    """
    needed: dict[int, int] = {}
    for item_pk, pieces in orders:
        needed[item_pk] = needed.get(item_pk, 0) + pieces
    items = _locked_items(needed)
    batches = _locked_batches(items.values())
    fresh = {
        pk: [row for row in rows if lasts(row.expires_on, until[pk])]
        for pk, rows in batches.items()
    }
    for item_pk, pieces in needed.items():
        too_old = len(batches[item_pk]) - len(fresh[item_pk])
        last_day = until[item_pk] if too_old else None
        _check_enough(items[item_pk], pieces, fresh[item_pk], last_day)
    served = [_serve(items[item_pk], fresh[item_pk], pieces) for item_pk, pieces in orders]
    counted = [item for item in items.values() if not item.by_batch]
    taken_from = {
        pieces_taken.batch
        for row in served
        for pieces_taken in row
        if pieces_taken.batch is not None
    }
    StockItem.objects.bulk_update(counted, ["on_hand"])
    ElectrodeBatch.objects.bulk_update(taken_from, ["on_hand"])
    return served


def _locked_items(keys: Iterable[int]) -> dict[int, StockItem]:
    items = StockItem.objects.select_for_update().filter(pk__in=list(keys)).order_by("pk")
    return {item.pk: item for item in items}


def _locked_batches(items: Iterable[StockItem]) -> dict[int, list[ElectrodeBatch]]:
    """Batches of the items that are kept by batch and have pieces, earliest expiry first."""
    batches: dict[int, list[ElectrodeBatch]] = {item.pk: [] for item in items}
    rows = ElectrodeBatch.objects.select_for_update().filter(item__in=batches, on_hand__gt=0)
    for batch in rows.order_by(F("expires_on").asc(nulls_last=True), "pk"):
        batches[batch.item_id].append(batch)
    return batches


def _check_enough(
    item: StockItem, needed: int, fresh: list[ElectrodeBatch], last_day: date | None
) -> None:
    """Raise Refused where there are too few pieces; `last_day` is given where further batches do
    not last until it.
    """
    have = sum(batch.on_hand for batch in fresh) if item.by_batch else item.on_hand
    if have >= needed:
        return
    hint = f" Batches that expire before {short_date(last_day)} do not go out." if last_day else ""
    raise Refused(
        f"{item.name}: {needed_and_here(needed, have)}.{hint} Restock first.", field="stock"
    )


def _serve(item: StockItem, batches: list[ElectrodeBatch], pieces: int) -> list[StockTaken]:
    """Take pieces off the rows at hand, which are saved together afterwards."""
    if not item.by_batch:
        item.on_hand -= pieces
        return [StockTaken(None, pieces)]
    served = []
    for batch in batches:
        from_batch = min(pieces, batch.on_hand)
        if from_batch:
            batch.on_hand -= from_batch
            pieces -= from_batch
            served.append(StockTaken(batch, from_batch))
    return served


def put_back(item: StockItem, quantity: int, batch: ElectrodeBatch | None = None) -> None:
    """Return pieces to stock inside a running transaction."""
    if quantity <= 0:
        return
    if item.by_batch and batch is not None:
        ElectrodeBatch.objects.filter(pk=batch.pk).update(on_hand=F("on_hand") + quantity)
    elif not item.by_batch:
        StockItem.objects.filter(pk=item.pk).update(on_hand=F("on_hand") + quantity)


@transaction.atomic
def restock(
    item: StockItem,
    quantity: int,
    *,
    batch_number: str = "",
    expires_on: date | None = None,
    received_on: date | None = None,
    expired_already: bool = False,
    actor: Actor = None,
    at: datetime | None = None,
) -> StockItem:
    """Add bought pieces.

    Raises
    ------
    Refused
        If the quantity is not positive, or an item kept by batch comes without its batch number,
        with another expiry than that batch already has, or expired without `expired_already`.
    """
    item = lock_item(item)
    if quantity < 1:
        raise Refused("Give the number of pieces that came in, at least 1.", field="quantity")
    if not item.by_batch:
        StockItem.objects.filter(pk=item.pk).update(on_hand=F("on_hand") + quantity)
        record_stock(
            item,
            f"{quantity} {item.unit} of {item.name} came in.",
            actor=actor,
            at=at,
            quantity=quantity,
        )
        item.refresh_from_db()
        return item
    number = batch_number.strip()
    if not number:
        raise Refused("Give the batch number printed on the pouch.", field="batch_number")
    batch, created = ElectrodeBatch.objects.get_or_create(
        item=item,
        batch_number=number,
        defaults={"expires_on": expires_on, "received_on": received_on},
    )
    if not created and expires_on and batch.expires_on != expires_on:
        expiry = f"expiry {short_date(batch.expires_on)}" if batch.expires_on else "no expiry"
        raise Refused(
            f"Batch {number} is on file with {expiry}: check the date.", field="expires_on"
        )
    today = timezone.localdate(at or timezone.now())
    check_expiry(expires_on, today, expired_already=expired_already)
    ElectrodeBatch.objects.filter(pk=batch.pk).update(on_hand=F("on_hand") + quantity)
    text = f"{quantity} {item.unit} of {item.name} came in, batch {number}."
    record_stock(item, text, actor=actor, at=at, quantity=quantity, batch=number)
    return item


@transaction.atomic
def count_stock(
    item: StockItem,
    counted: int,
    *,
    batch: ElectrodeBatch | None = None,
    reason: str = "",
    actor: Actor = None,
    at: datetime | None = None,
) -> StockItem:
    """Set the number on hand to what was counted; the difference stays in the item's history."""
    item = lock_item(item)
    if counted < 0:
        raise Refused("A count cannot be below 0.", field="counted")
    if item.by_batch:
        if batch is None or batch.item_id != item.pk:
            raise Refused("Say which batch was counted.", field="batch")
        row: ElectrodeBatch | StockItem = ElectrodeBatch.objects.select_for_update().get(
            pk=batch.pk
        )
        what = f"{item.name}, batch {batch.batch_number}"
    else:
        row, what = item, item.name
    before, row.on_hand = row.on_hand, counted
    row.save(update_fields=["on_hand"])
    because = f": {reason.strip()}" if reason.strip() else ""
    text = f"{what} counted: {counted} (was {before}){because}."
    record_stock(item, text, actor=actor, at=at, counted=counted, before=before)
    return item


@transaction.atomic
def save_item(item: StockItem, *, actor: Actor = None, at: datetime | None = None) -> StockItem:
    """Keep a new or changed stock item.

    Raises
    ------
    Refused
        If it is to be kept by batch while pieces without a batch are on hand, or the other way
        round.
    """
    before = StockItem.objects.select_for_update().filter(pk=item.pk).first() if item.pk else None
    if before is not None and before.by_batch != item.by_batch:
        left = (
            before.batches.filter(on_hand__gt=0).exists() if before.by_batch else before.on_hand > 0
        )
        if left:
            raise Refused(
                "Count the pieces on hand down to 0 before changing how they are kept.",
                field="by_batch",
            )
    if before is not None:
        item.on_hand = before.on_hand
    item.save()
    verb = "changed" if before else "added"
    record_stock(item, f"{item.name} {verb}, reorder at {item.reorder_point}.", actor=actor, at=at)
    return item
