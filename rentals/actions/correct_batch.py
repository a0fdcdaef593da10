"""A batch that was entered wrongly: its number, expiry and count are corrected, and the item's
history keeps what stood there before.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime

from django.utils import timezone

from rentals import transaction
from rentals.dates import short_date
from rentals.errors import Refused
from rentals.models import ElectrodeBatch
from rentals.planning.stock_need import check_expiry

from .record import Actor, record_stock
from .restock import lock_item


@transaction.atomic
def correct_batch(
    batch: ElectrodeBatch,
    *,
    batch_number: str,
    expires_on: date | None,
    on_hand: int,
    expired_already: bool = False,
    reason: str = "",
    actor: Actor = None,
    at: datetime | None = None,
) -> ElectrodeBatch:
    """Correct what is on file of a batch. Packing lists that went out keep what they say.

    Raises
    ------
    Refused
        If the number is empty or that of another batch of the item, the count is below 0, or the
        new expiry is past without `expired_already`.
    """
    item = lock_item(batch.item)
    batch = ElectrodeBatch.objects.select_for_update().get(pk=batch.pk)
    number = batch_number.strip()
    if not number:
        raise Refused("Give the batch number printed on the pouch.", field="batch_number")
    if item.batches.filter(batch_number=number).exclude(pk=batch.pk).exists():
        raise Refused(
            f"{item.name} has a batch {number} already: count this one down to 0 and restock"
            " that one.",
            field="batch_number",
        )
    if on_hand < 0:
        raise Refused("A count cannot be below 0.", field="on_hand")
    if expires_on != batch.expires_on:
        today = timezone.localdate(at or timezone.now())
        check_expiry(expires_on, today, expired_already=expired_already)
    before = _on_file(batch)
    changes = list(_changes(batch, number, expires_on, on_hand))
    if not changes:
        return batch
    because = f": {reason.strip()}" if reason.strip() else ""
    text = f"{item.name}, batch {batch.batch_number} corrected: {', '.join(changes)}{because}."
    batch.batch_number, batch.expires_on, batch.on_hand = number, expires_on, on_hand
    batch.save(update_fields=["batch_number", "expires_on", "on_hand"])
    record_stock(item, text, actor=actor, at=at, before=before, after=_on_file(batch))
    return batch


def _changes(
    batch: ElectrodeBatch, number: str, expires_on: date | None, on_hand: int
) -> Iterator[str]:
    """What changes, in words, each with what stood there before."""
    if number != batch.batch_number:
        yield f"number {number}"
    if expires_on != batch.expires_on:
        yield f"expires {_day(expires_on)} (was {_day(batch.expires_on)})"
    if on_hand != batch.on_hand:
        yield f"{on_hand} on hand (was {batch.on_hand})"


def _day(expires_on: date | None) -> str:
    return short_date(expires_on) if expires_on else "never"


def _on_file(batch: ElectrodeBatch) -> dict[str, str | int]:
    return {
        "batch": batch.batch_number,
        "expires_on": str(batch.expires_on or ""),
        "on_hand": batch.on_hand,
    }
