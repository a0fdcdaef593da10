"""Counted stock: take, put back, restock, count."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction
from django.db.models import F, Sum

from rentals.errors import Refused
from rentals.models import ElectrodeBatch, StockItem

from .record import Actor, record_stock


def available(item: StockItem, on: date) -> int:
    """Pieces that may go out on a day: expired batches do not count."""
    if not item.by_batch:
        return item.on_hand
    batches = item.batches.exclude(expires_on__lt=on)
    return batches.aggregate(pieces=Sum("on_hand"))["pieces"] or 0


def lock_item(item: StockItem) -> StockItem:
    """The item, locked until the transaction ends."""
    return StockItem.objects.select_for_update().get(pk=item.pk)


def take(item: StockItem, quantity: int, *, on: date) -> list[tuple[ElectrodeBatch | None, int]]:
    """Take pieces from stock inside a running transaction, earliest expiry first, never from an
    expired batch.

    Returns
    -------
    list of (batch or None, pieces)

    Raises
    ------
    Refused
        If there is not enough that may go out; says how much there is.
    """
    item = lock_item(item)
    have = available(item, on)
    if have < quantity:
        expired = (
            (item.batches.filter(expires_on__lt=on, on_hand__gt=0).exists())
            if item.by_batch
            else False
        )
        hint = " Expired batches do not go out." if expired else ""
        raise Refused(
            f"{item.name}: {quantity} needed, {have} in stock.{hint} Restock first.", field="stock"
        )
    if not item.by_batch:
        StockItem.objects.filter(pk=item.pk).update(on_hand=F("on_hand") - quantity)
        return [(None, quantity)]
    taken = []
    for batch in (
        item.batches.select_for_update()
        .exclude(expires_on__lt=on)
        .filter(on_hand__gt=0)
        .order_by(F("expires_on").asc(nulls_last=True), "pk")
    ):
        pieces = min(quantity, batch.on_hand)
        ElectrodeBatch.objects.filter(pk=batch.pk).update(on_hand=F("on_hand") - pieces)
        taken.append((batch, pieces))
        quantity -= pieces
        if not quantity:
            break
    return taken


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
    actor: Actor = None,
    at: datetime | None = None,
) -> StockItem:
    """Add bought pieces.

    Raises
    ------
    Refused
        If the quantity is not positive, or an item kept by batch comes without its batch number or
        with another expiry than that batch already has.
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
    batch, made = ElectrodeBatch.objects.get_or_create(
        item=item,
        batch_number=number,
        defaults={"expires_on": expires_on, "received_on": received_on},
    )
    if not made and expires_on and batch.expires_on != expires_on:
        raise Refused(
            f"Batch {number} is on file with expiry {batch.expires_on}: check the date.",
            field="expires_on",
        )
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
