"""Stock that does not reach for one parcel."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.dates import short_date
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
    assert twice.hint == "50 more are expired and do not go out"
    assert twice.next.url == electrodes.stock_item.get_absolute_url()


def test_pieces_must_last_until_the_due_day_and_the_days_beyond_it():
    today = timezone.localdate()
    loan = assigned_loan()
    line = loan.packing_lines.get(part_kind="electrodes")
    line.stock_item.batches.update(on_hand=30, expires_on=loan.due_on + timedelta(days=6))
    assert short_of([line], today) == {}
    line.days_beyond_due = 7
    (short,) = short_of([line], today).values()
    assert short.until == loan.due_on + timedelta(days=7)
    assert short.hint == f"30 more expire before {short_date(short.until)}"
    assert short.reaches_short_dated
    line.loan.short_dated_reason = "Nothing else is to be had this week."
    assert short_of([line], today) == {}


def test_lines_without_counted_stock_ask_nothing(django_assert_num_queries):
    with django_assert_num_queries(0):
        assert short_of([], timezone.localdate()) == {}
