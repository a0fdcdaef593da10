"""Runs whose students wait for a kit."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.actions.runs import withdraw
from rentals.planning.ahead import ASSIGN_AHEAD_DAYS, RunAhead
from rentals.selectors.runs_ahead import runs_before, runs_to_assign
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    KitTypeFactory,
    assigned_loan,
    complete_kit,
)

pytestmark = pytest.mark.django_db


def run_posted_in(days: int, waiting: int, **facts):
    post_by = timezone.localdate() + timedelta(days=days)
    run = CourseRunFactory(post_by=post_by, starts_on=post_by + timedelta(days=7), **facts)
    EnrolmentFactory.create_batch(waiting, run=run)
    return run


def test_runs_to_assign_are_those_posted_soon_with_students_who_wait():
    today = timezone.localdate()
    late, edge = run_posted_in(-3, 1), run_posted_in(ASSIGN_AHEAD_DAYS, 2)
    run_posted_in(ASSIGN_AHEAD_DAYS + 1, 1)
    run_posted_in(2, 0)
    over = run_posted_in(-200, 1)
    assert over.ends_on < today
    kit = complete_kit()
    assigned_loan(kit, EnrolmentFactory(run__kit_type=kit.kit_type))
    withdraw(EnrolmentFactory(run=edge))
    found = [(run, run.waiting) for run in runs_to_assign(today)]
    assert found == [(late, 1), (edge, 2)]


def test_only_runs_of_the_same_kit_type_posted_earlier_stand_before_a_run():
    today = timezone.localdate()
    kit_type = KitTypeFactory(contents=False)
    later = run_posted_in(30, 1, kit_type=kit_type)
    earlier = run_posted_in(25, 2, kit_type=kit_type)
    run_posted_in(25, 2)
    assert runs_before(later, today) == [RunAhead(earlier.name, earlier.post_by, 2)]
    assert runs_before(earlier, today) == []
