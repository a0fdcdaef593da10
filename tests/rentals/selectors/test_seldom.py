"""What most kits have none of is not read with all that belongs to it."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from rentals.selectors.found import finds
from rentals.selectors.kit_page import kit_page
from rentals.selectors.seldom import seldom_any
from tests.factories import complete_kit
from tests.rentals.actions.test_found import parcel_with

pytestmark = pytest.mark.django_db
# A column of each that only a row to show needs.
OF_ROWS = {
    '"rentals_foundpart"."text"',
    '"rentals_faultreport"."symptom"',
    '"rentals_shortfall"."detail"',
    '"rentals_earmark"."pinned"',
}


def shown_of(kit):
    with CaptureQueriesContext(connection) as queries:
        page = kit_page(kit, timezone.localdate())
    asked = " ".join(query["sql"] for query in queries.captured_queries)
    return page, {column for column in OF_ROWS if column in asked}


def test_a_kit_with_nothing_of_these_reads_no_columns_of_their_rows():
    page, read = shown_of(complete_kit())
    assert not (page.found or page.faults or page.shortfalls or page.set_aside)
    assert read == set()


def test_what_is_there_is_read_and_nothing_else():
    thing = parcel_with(complete_kit().parts.get(kind="charger"))
    page, read = shown_of(thing.check_of.loan.kit)
    assert len(page.found) == 1 and not page.faults
    assert '"rentals_foundpart"."text"' in read
    assert '"rentals_faultreport"."symptom"' not in read


def test_the_same_rows_come_in_the_same_order_as_without_asking_first(
    django_assert_num_queries,
):
    for _ in range(3):
        parcel_with(complete_kit().parts.get(kind="charger"))
    rows = list(finds())
    with django_assert_num_queries(2):
        assert seldom_any(finds()) == rows
    with django_assert_num_queries(2):
        assert seldom_any(finds()[:2]) == rows[:2]
    with django_assert_num_queries(1):
        assert seldom_any(finds().filter(pk__lt=0)) == []
