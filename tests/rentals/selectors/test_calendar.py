"""The days of the calendar feed, from the rows of runs and loans."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from rentals.models import CourseRun, Loan
from rentals.selectors.calendar import KEPT, _loans_by_days, days_ahead
from tests.factories import EnrolmentFactory, assigned_loan, complete_kit

pytestmark = pytest.mark.django_db


def test_days_stay_in_the_feed_for_a_while_and_then_go():
    loan = assigned_loan()
    today = loan.post_by
    days = days_ahead(today=today)
    assert [day.kind for day in days] == ["bench", "post", "return"]
    assert [day.on for day in days][1:] == [loan.post_by, loan.due_on]
    assert days[1].kits == [loan.kit.code]
    Loan.objects.update(stage="cancelled")
    run = CourseRun.objects.get()
    assert days_ahead(today=run.return_by + KEPT)
    assert days_ahead(today=run.return_by + KEPT + timedelta(days=1)) == []


def test_events_of_runs_that_are_not_in_the_feed_are_not_looked_at():
    loan = assigned_loan()
    with CaptureQueriesContext(connection) as queries:
        days = days_ahead(today=loan.post_by)
        asked = [query["sql"] for query in queries.captured_queries]
    assert days
    of_loans = [sql for sql in asked if '"rentals_event"' in sql and '"loan_id" =' in sql]
    assert of_loans and '"run_id" IN (' in of_loans[0]


def test_kits_of_equal_days_are_read_as_one_group_and_named_in_order():
    """Read group by group: 3,000 loans under way are some hundred rows."""
    first = assigned_loan()
    run = first.enrolment.run
    second = assigned_loan(complete_kit(kit_type=run.kit_type), EnrolmentFactory(run=run))
    days = {day.kind: day for day in days_ahead(today=first.post_by)}
    both = sorted([first.kit.code, second.kit.code])
    assert {kind: day.kits for kind, day in days.items()} == dict.fromkeys(
        ("bench", "post", "return"), both
    )
    assert len(list(_loans_by_days())) == 1
