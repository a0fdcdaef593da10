"""Counted stock: what may go out on a day, and how items and batches are marked."""

from datetime import date

import pytest

from rentals.models import ElectrodeBatch, StockItem
from rentals.selectors.stock import batch_mark, items_listed, stock_rows

pytestmark = pytest.mark.django_db

TODAY = date(2026, 3, 2)


def words(**counts: int) -> tuple[int, list[str]]:
    StockItem.objects.update(**counts)
    (row,) = stock_rows(items_listed("gel", TODAY), TODAY)
    return row.usable, [mark.word for mark in row.marks]


def test_an_item_is_marked_by_what_may_go_out_and_by_what_is_expired():
    item = StockItem.objects.create(name="Gel", kind="electrodes", reorder_point=5)
    assert words(on_hand=6) == (6, ["in stock"])
    assert words(on_hand=5) == (5, ["reorder"])
    ElectrodeBatch.objects.create(
        item=item, batch_number="A", expires_on=date(2026, 3, 1), received_on=TODAY, on_hand=9
    )
    assert words(on_hand=0) == (0, ["none left", "expired"])
    assert not items_listed("swab", TODAY)


def test_a_batch_expires_on_the_day_after_its_date():
    batch = ElectrodeBatch(expires_on=TODAY, on_hand=1)
    assert batch_mark(batch, TODAY).word == "in stock"
    assert batch_mark(batch, date(2026, 3, 3)).word == "expired, does not go out"
    assert batch_mark(ElectrodeBatch(on_hand=0), TODAY).word == "used up"
