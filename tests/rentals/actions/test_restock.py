"""Counted stock goes out by expiry, comes in by batch, and is counted with its difference."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import transaction

from rentals.actions.restock import count_stock, put_back, restock, save_item, take_together
from rentals.errors import Refused
from rentals.models import ElectrodeBatch, Event, StockItem
from tests.factories import ElectrodeBatchFactory, StockItemFactory

pytestmark = pytest.mark.django_db

TODAY = date(2026, 5, 1)
NOW = datetime(2026, 5, 1, 12, tzinfo=UTC)


def batch_of(item: StockItem | None, days: int | None, pieces: int) -> ElectrodeBatch:
    expires_on = None if days is None else TODAY + timedelta(days=days)
    facts = {"item": item} if item else {}
    return ElectrodeBatchFactory(expires_on=expires_on, on_hand=pieces, **facts)


def taken(*wanted: tuple[StockItem, int]) -> list[list[tuple[str | None, int]]]:
    with transaction.atomic():
        until = {item.pk: TODAY for item, _ in wanted}
        served = take_together([(item.pk, pieces) for item, pieces in wanted], until=until)
    return [
        [(row.batch.batch_number if row.batch else None, row.pieces) for row in rows]
        for rows in served
    ]


def test_the_batch_that_expires_first_goes_first_and_one_without_a_day_last():
    endless = batch_of(None, None, 10)
    later = batch_of(endless.item, 90, 10)
    today = batch_of(endless.item, 0, 10)
    batch_of(endless.item, -1, 10)
    assert taken((endless.item, 15), (endless.item, 10)) == [
        [(today.batch_number, 10), (later.batch_number, 5)],
        [(later.batch_number, 5), (endless.batch_number, 5)],
    ]
    left = ElectrodeBatch.objects.order_by("expires_on").values_list("on_hand", flat=True)
    assert sorted(left) == [0, 0, 5, 10]


def test_what_does_not_reach_for_all_is_refused_whole():
    good, expired = batch_of(None, 30, 20), None
    expired = batch_of(good.item, -1, 100)
    plenty = StockItemFactory(on_hand=50)
    with pytest.raises(
        Refused, match=r"24 needed, 20 here\. Batches that expire before 1 May 2026 do"
    ):
        taken((plenty, 5), (good.item, 12), (good.item, 12))
    plenty.refresh_from_db()
    expired.refresh_from_db()
    assert (plenty.on_hand, expired.on_hand) == (50, 100)


def test_pieces_go_back_where_they_came_from():
    batch, item = batch_of(None, 30, 4), StockItemFactory(on_hand=7)
    put_back(batch.item, 3, batch)
    put_back(item, 2)
    put_back(item, 0)
    put_back(batch.item, 9)
    batch.refresh_from_db()
    item.refresh_from_db()
    assert (batch.on_hand, item.on_hand) == (7, 9)


def test_bought_pieces_come_in_with_an_event():
    item = StockItemFactory(name="Swabs", on_hand=3)
    assert restock(item, 20).on_hand == 23
    event = Event.objects.get(chain=f"stock {item.pk}")
    assert (event.data["quantity"], event.text) == (20, f"20 {item.unit} of Swabs came in.")
    with pytest.raises(Refused, match="at least 1"):
        restock(item, 0)


def test_a_batch_grows_under_its_number_and_keeps_its_expiry():
    batch = batch_of(None, 30, 4)
    with pytest.raises(Refused) as refusal:
        restock(batch.item, 5, batch_number="  ")
    assert refusal.value.field == "batch_number"
    restock(
        batch.item, 5, batch_number=f" {batch.batch_number} ", expires_on=batch.expires_on, at=NOW
    )
    with pytest.raises(Refused, match="check the date") as refusal:
        restock(batch.item, 5, batch_number=batch.batch_number, expires_on=TODAY)
    assert refusal.value.field == "expires_on"
    restock(batch.item, 6, batch_number="NEW", expires_on=TODAY, at=NOW)
    numbers = ElectrodeBatch.objects.values_list("batch_number", "on_hand")
    assert dict(numbers) == {batch.batch_number: 9, "NEW": 6}


def test_a_batch_that_comes_in_expired_is_questioned():
    item, past = batch_of(None, 30, 4).item, TODAY - timedelta(days=1)
    with pytest.raises(Refused, match="This day is past") as refusal:
        restock(item, 5, batch_number="OLD", expires_on=past, at=NOW)
    assert refusal.value.field == "expired_already"
    restock(item, 5, batch_number="OLD", expires_on=past, expired_already=True, at=NOW)
    assert ElectrodeBatch.objects.get(batch_number="OLD").on_hand == 5


def test_a_count_sets_the_number_and_keeps_the_difference():
    item, batch = StockItemFactory(on_hand=12), batch_of(None, 30, 4)
    count_stock(item, 9, reason=" torn ")
    event = Event.objects.get(chain=f"stock {item.pk}")
    assert (event.data["before"], event.data["counted"]) == (12, 9)
    assert event.text.endswith("counted: 9 (was 12): torn.")
    count_stock(batch.item, 2, batch=batch)
    batch.refresh_from_db()
    assert batch.on_hand == 2
    with pytest.raises(Refused, match="below 0"):
        count_stock(item, -1)
    for wrong in (None, batch_of(None, 30, 1)):
        with pytest.raises(Refused, match="which batch"):
            count_stock(batch.item, 1, batch=wrong)


@pytest.mark.parametrize("by_batch", [True, False])
def test_how_an_item_is_kept_changes_only_while_none_is_on_hand(by_batch):
    item = batch_of(None, 30, 4).item if by_batch else StockItemFactory(on_hand=4)
    item.by_batch = not by_batch
    with pytest.raises(Refused) as refusal:
        save_item(item)
    assert refusal.value.field == "by_batch"
    item.batches.update(on_hand=0)
    StockItem.objects.filter(pk=item.pk).update(on_hand=0)
    save_item(item)
    item.refresh_from_db()
    assert item.by_batch is not by_batch


def test_a_changed_item_keeps_the_number_on_hand():
    item = StockItemFactory(on_hand=4)
    item.on_hand, item.shelf = 400, "C9"
    save_item(item)
    item.refresh_from_db()
    assert (item.on_hand, item.shelf) == (4, "C9")
