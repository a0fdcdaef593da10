"""Stock that does not reach for one parcel."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.models import ElectrodeBatch, StockItem
from rentals.selectors.stock_short import short_of
from tests.factories import assigned_loan

pytestmark = pytest.mark.django_db


def test_lines_of_one_item_are_added_and_expired_pieces_do_not_count():
    today = timezone.localdate()
    loan = assigned_loan()
    lines = list(loan.packing_lines.all())
    assert short_of(lines, today) == {}
    electrodes = next(line for line in lines if line.part_kind == "electrodes")
    electrodes.stock_item.batches.update(on_hand=30)
    ElectrodeBatch.objects.create(
        item=electrodes.stock_item,
        batch_number="old",
        expires_on=today - timedelta(days=1),
        on_hand=50,
    )
    StockItem.objects.filter(kind="band").update(on_hand=0)
    twice, bands = short_of([*lines, electrodes], today).values()
    assert (twice.words, twice.expired) == ("48 needed, 30 here", 50)
    assert (bands.words, bands.expired) == ("2 needed, 0 here", 0)
    assert twice.next.url == electrodes.stock_item.get_absolute_url()


def test_lines_without_counted_stock_ask_nothing(django_assert_num_queries):
    with django_assert_num_queries(0):
        assert short_of([], timezone.localdate()) == {}
