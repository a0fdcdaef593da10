"""What is to be bought of counted stock, from the rows."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from rentals.models import ElectrodeBatch, StockItem
from rentals.planning.stock_forecast import OrderCause
from rentals.selectors.shopping_list import (
    ORDERED,
    items_to_order,
    shopping_list,
    shopping_listed,
    total_cost,
)
from tests.factories import (
    CourseRunFactory,
    ElectrodeBatchFactory,
    EnrolmentFactory,
    StockItemFactory,
    complete_kit,
    packed_loan,
)

pytestmark = pytest.mark.django_db


def rows_by_kind(today):
    return {row.item.kind: row for row in shopping_list(today)}


def test_each_item_says_what_is_here_what_runs_need_and_what_to_order():
    today = timezone.localdate()
    kit = complete_kit()
    post_by = today + timedelta(days=60)
    run = CourseRunFactory(name="Autumn", kit_type=kit.kit_type, post_by=post_by, starts_on=post_by)
    EnrolmentFactory.create_batch(3, run=run)
    StockItem.objects.filter(kind="electrodes").update(
        pack_size=25, pack_price=Decimal("10.00"), lead_days=10, lead_spread_days=0
    )
    ElectrodeBatch.objects.update(on_hand=60)
    gel = rows_by_kind(today)["electrodes"]
    assert (gel.forecast.here, gel.forecast.needed, gel.needed_by) == (60, 72, post_by)
    assert gel.forecast.cause == OrderCause.LACKS
    assert gel.forecast.order_by == post_by - timedelta(days=10)
    assert gel.forecast.packs == -(-(12 + gel.forecast.reserve) // 25)
    assert gel.why.startswith("Autumn needs 72 by ")
    assert not gel.due
    assert total_cost([gel]) == gel.forecast.packs * 10
    assert rows_by_kind(today)["box"].forecast.cause == OrderCause.ENOUGH
    listed = shopping_listed(shopping_list(today), "gel", ORDERED)
    assert [row.item for row in listed] == [gel.item]
    assert shopping_listed(shopping_list(today), "band", ORDERED) == []


def test_bands_of_one_run_serve_the_next_once_they_are_back():
    today = timezone.localdate()
    kit = complete_kit()
    for days in (10, 150):
        post_by = today + timedelta(days=days)
        run = CourseRunFactory(
            kit_type=kit.kit_type,
            post_by=post_by,
            starts_on=post_by,
            ends_on=post_by + timedelta(days=30),
        )
        EnrolmentFactory.create_batch(10, run=run)
    StockItem.objects.filter(kind="band").update(on_hand=40)
    assert rows_by_kind(today)["band"].forecast.cause == OrderCause.ENOUGH


def test_stock_is_reordered_at_the_owners_point_by_what_is_usable():
    today = timezone.localdate()
    at_point = StockItemFactory(on_hand=10, reorder_point=10)
    StockItemFactory(on_hand=11, reorder_point=10)
    ElectrodeBatchFactory(on_hand=11, item__reorder_point=10)
    few = ElectrodeBatchFactory(on_hand=4, item__reorder_point=10).item
    ElectrodeBatchFactory(on_hand=5, item=few)
    ElectrodeBatchFactory(on_hand=90, item=few, expires_on=today - timedelta(days=1))
    assert {row.item.pk: row.forecast.here for row in items_to_order(today)} == {
        at_point.pk: 10,
        few.pk: 9,
    }


def test_the_queries_do_not_grow_with_runs_and_items():
    today = timezone.localdate()
    kit = complete_kit()
    packed_loan(kit)

    def queries():
        with CaptureQueriesContext(connection) as made:
            shopping_list(today)
        return len(made)

    EnrolmentFactory(run__kit_type=kit.kit_type)
    few = queries()
    EnrolmentFactory(run__kit_type=kit.kit_type)
    EnrolmentFactory()
    StockItemFactory.create_batch(3)
    # Two of them find since when the use that is kept holds.
    assert queries() == few <= 10
