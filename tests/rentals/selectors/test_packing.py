"""The queue of parcels, and how far each packing list is."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.actions.issue import hold
from rentals.actions.pack import tick
from rentals.actions.packing_list import draw_up
from rentals.models import ElectrodeBatch
from rentals.selectors.packing import (
    loans_of_parcels,
    pack_sheet,
    parcel,
    parcels_listed,
    runs_wanting,
)
from tests.factories import EnrolmentFactory, assigned_loan, complete_kit, packed_loan

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


def test_the_queue_counts_ticked_lines_and_finds_by_student_run_and_code():
    loan, other = assigned_loan(), packed_loan()
    draw_up(loan.kit)
    tick(loan.packing_lines.first())
    for text in (loan.enrolment.student.name, loan.enrolment.run.name, loan.kit.code.lower()):
        (found,) = [row.pk for row in parcels_listed(text) if row.pk == loan.pk]
        (row,) = loans_of_parcels([found])
        assert (row.lines, row.ticked) == (8, 1)
    assert {row.pk for row in parcels_listed()} == {loan.pk, other.pk}
    assert not parcels_listed("nobody of that name")


def test_a_line_reads_no_more_than_it_tells(django_assert_num_queries):
    loan = assigned_loan()
    with django_assert_num_queries(1) as asked:
        (line,) = [parcel(row, loan.post_by) for row in loans_of_parcels([loan.pk])]
        assert line.loan.kit.code and line.loan.enrolment.student.get_absolute_url()
        assert line.loan.enrolment.run.name
    (query,) = asked.captured_queries
    assert "street" not in query["sql"] and "last_hash" not in query["sql"]


def test_a_parcel_of_a_held_kit_says_so():
    loan = assigned_loan(complete_kit(cleared=False))
    assert parcel(loan, loan.post_by).kit_mark.word == "not cleared"
    loan.kit = hold(loan.kit, reason="cracked housing")
    assert parcel(loan, loan.post_by).kit_mark.word == "held"


def test_a_parcel_is_late_from_the_day_after_it_should_be_posted():
    loan = assigned_loan()
    assert parcel(loan, loan.post_by - DAY).post_mark is None
    today = parcel(loan, loan.post_by)
    assert (today.late, today.post_mark.word) == (False, "today")
    assert parcel(loan, loan.post_by + DAY).late


def test_a_kit_that_is_not_cleared_is_marked():
    uncleared = assigned_loan(complete_kit(cleared=False))
    assert "not cleared" in parcel(uncleared, uncleared.post_by).kit_mark.word
    assert parcel(assigned_loan(), uncleared.post_by).kit_mark is None


def test_a_sheet_says_what_is_missing_and_which_stock_falls_short():
    today = timezone.localdate()
    loan = assigned_loan()
    draw_up(loan.kit)
    electrodes = loan.packing_lines.get(part_kind="electrodes")
    batches = ElectrodeBatch.objects.filter(item=electrodes.stock_item)
    batches.update(on_hand=30, expires_on=loan.due_on)
    sheet = pack_sheet(loan, today)
    assert (sheet.short, sheet.short_dated) == ((), ())
    batches.update(expires_on=loan.due_on - DAY)
    (short,) = pack_sheet(loan, today).short_dated
    assert (short.needed, short.have, short.too_soon) == (24, 0, 30)
    late = pack_sheet(loan, loan.due_on)
    assert (late.short[0].expired, late.short_dated) == (30, ())
    batches.update(expires_on=loan.due_on)
    assert (sheet.done, sheet.total) == (0, 8)
    assert "24 × Gel electrodes" in [name for name, _ in sheet.missing]
    tick(electrodes)
    assert pack_sheet(loan, today).done == 1


def test_a_packed_list_is_frozen_and_asks_for_no_stock():
    loan = packed_loan()
    ElectrodeBatch.objects.update(on_hand=0)
    sheet = pack_sheet(loan, timezone.localdate())
    assert (sheet.done, sheet.missing, sheet.short) == (8, (), ())


def test_runs_that_want_a_kit_stand_by_their_post_by_day():
    served = assigned_loan().enrolment.run
    assert runs_wanting(served.kit_type) == []
    late = EnrolmentFactory(run__kit_type=served.kit_type).run
    EnrolmentFactory(run=served)
    late.post_by = served.post_by + DAY
    late.save()
    assert runs_wanting(served.kit_type) == [served, late]
