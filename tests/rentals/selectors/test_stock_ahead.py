"""Stock against the parcels that are still to be packed."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from rentals.actions.assign import assign
from rentals.actions.short_dated import allow_short_dated
from rentals.models import ElectrodeBatch, StockItem
from rentals.planning.stock_need import STOCK_AHEAD_DAYS
from rentals.selectors.stock_ahead import parcels_ahead, stock_short_for, stock_short_soon
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    complete_kit,
    packed_loan,
)

pytestmark = pytest.mark.django_db


def run_posted_in(days: int, students: int, kit_type):
    post_by = timezone.localdate() + timedelta(days=days)
    run = CourseRunFactory(
        kit_type=kit_type, post_by=post_by, starts_on=post_by + timedelta(days=7)
    )
    return run, EnrolmentFactory.create_batch(students, run=run)


def lacks(rows):
    return [(row.run, row.item.kind, row.needed, row.have) for row in rows]


def test_a_run_needs_its_kit_types_lines_for_each_parcel_that_is_not_packed():
    today = timezone.localdate()
    kit = complete_kit()
    first, (served, *_) = run_posted_in(3, 3, kit.kit_type)
    second, _ = run_posted_in(10, 1, kit.kit_type)
    packed_loan(kit, served)
    ElectrodeBatch.objects.update(on_hand=60)
    assert lacks(stock_short_soon(today)) == [(second, "electrodes", 24, 12)]
    assert stock_short_for(first, today) == []
    StockItem.objects.filter(kind="box").update(on_hand=0)
    assert lacks(stock_short_for(first, today)) == [(first, "box", 2, 0)]
    assert [row.words for row in stock_short_for(second, today)] == [
        "1 needed, 0 here",
        "24 needed, 12 left after earlier parcels",
    ]


def test_what_expires_before_the_due_day_does_not_suffice_unless_the_owner_lets_it_go(owner):
    today = timezone.localdate()
    kit = complete_kit()
    run, (first, _) = run_posted_in(10, 2, kit.kit_type)
    ElectrodeBatch.objects.update(on_hand=60, expires_on=run.return_by - timedelta(days=1))
    (short,) = stock_short_soon(today)
    assert (short.words, short.hint[:20]) == ("48 needed, 0 here", "60 more expire befor")
    allow_short_dated(assign(kit, first).kit, reason="Nothing else is to be had.", actor=owner)
    (short,) = stock_short_soon(today)
    assert (short.words, short.hint[:20]) == ("24 needed, 0 here", "36 more expire befor")


def test_runs_posted_later_than_an_order_takes_are_no_work_yet():
    today = timezone.localdate()
    later, _ = run_posted_in(STOCK_AHEAD_DAYS + 1, 1, complete_kit().kit_type)
    ElectrodeBatch.objects.update(on_hand=0)
    assert stock_short_soon(today) == []
    assert stock_short_soon(today, parcels_ahead(today, later.post_by)) == []
    assert lacks(stock_short_for(later, today)) == [(later, "electrodes", 24, 0)]


def test_it_takes_the_same_queries_however_many_runs_there_are():
    today = timezone.localdate()

    def count() -> int:
        with CaptureQueriesContext(connection) as queries:
            assert stock_short_soon(today)
        return len(queries)

    ElectrodeBatch.objects.update(on_hand=0)
    kit_type = complete_kit().kit_type
    run_posted_in(1, 1, kit_type)
    StockItem.objects.update(on_hand=0)
    few = count()
    for day in range(2, 6):
        run_posted_in(day, 1, kit_type)
        run_posted_in(day, 1, CourseRunFactory().kit_type)
    assert count() == few <= 4
