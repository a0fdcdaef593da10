"""Transactions of acts: what they write, the log holds once, at their end."""

import pytest

from rentals import transaction
from rentals.models import LogLine, StockItem
from rentals.verify import verify
from tests.factories import StockItemFactory

pytestmark = pytest.mark.django_db


def _lines() -> int:
    return LogLine.objects.filter(table="rentals.stockitem", row__gt=0).count()


def test_the_outermost_holds_what_was_written_however_it_was():
    item = StockItemFactory()
    assert _lines() == 1
    with transaction.atomic():
        with transaction.atomic():
            StockItem.objects.filter(pk=item.pk).update(shelf="C3")
        assert _lines() == 1
        item.refresh_from_db()
        item.on_hand += 1
        item.save()
    assert _lines() == 2
    with transaction.atomic():
        rows = [StockItem(name=f"Item {n}", kind=item.kind) for n in range(3)]
        StockItem.objects.bulk_create(rows)
        for row in rows:
            row.shelf = "D4"
        StockItem.objects.bulk_update(rows, ["shelf"])
    assert _lines() == 5
    with transaction.atomic():
        StockItem.objects.filter(name__startswith="Item").delete()
    assert _lines() == 8
    assert verify() == []


def test_what_was_taken_back_leaves_the_log_as_it_was():
    item = StockItemFactory()
    with pytest.raises(ZeroDivisionError), transaction.atomic():
        StockItem.objects.filter(pk=item.pk).update(shelf="C3")
        raise ZeroDivisionError
    assert _lines() == 1
    StockItem.objects.filter(pk=item.pk).update(shelf="C3")
    assert verify() == [f"Stock item {item.pk} is not as the log has it."]


def test_what_no_database_takes_back_is_taken_back_with_the_act_it_came_with():
    done: list[str] = []
    transaction.on_rollback(lambda: done.append("outside of any act"))
    with transaction.atomic():
        transaction.on_rollback(lambda: done.append("kept"))
        with pytest.raises(ZeroDivisionError), transaction.atomic():
            transaction.on_rollback(lambda: done.append("first"))
            transaction.on_rollback(lambda: 1 / 0)
            transaction.on_rollback(lambda: done.append("last"))
            raise ZeroDivisionError
    assert done == ["last", "first"]
    with pytest.raises(ZeroDivisionError), transaction.atomic():
        raise ZeroDivisionError
    assert done == ["last", "first"]
