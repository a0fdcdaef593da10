"""Runs on screen: who has what, who waits, and which kits are free."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.issue import hold, unassign
from rentals.actions.runs import withdraw
from rentals.models import CourseRun, Loan
from rentals.next_acts import run_sentence
from rentals.selectors.run_strips import strips_of
from rentals.selectors.runs import (
    enrolments_listed,
    enrolments_of,
    enrolments_without_kit,
    free_kits,
    holding,
    run_phase,
    run_situation,
    runs_listed,
    with_sort_facts_of_runs,
)
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
)

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


@pytest.fixture
def run() -> CourseRun:
    return CourseRunFactory()


def kit_for(run: CourseRun, **facts: bool) -> Loan:
    return assigned_loan(complete_kit(run.kit_type, **facts), EnrolmentFactory(run=run))


def test_a_run_runs_from_its_first_to_its_last_day(run):
    days = [run.starts_on - DAY, run.starts_on, run.ends_on, run.ends_on + DAY]
    assert [run_phase(run, day).name for day in days] == ["PLANNED", "RUNNING", "RUNNING", "OVER"]


def test_the_list_counts_students_once_and_leaves_out_who_withdrew(run):
    kit_for(run)
    EnrolmentFactory(run=run)
    left = dispatch(packed_loan(complete_kit(run.kit_type), EnrolmentFactory(run=run)).kit)
    withdraw(left.enrolment)
    (listed,) = runs_listed(run.name)
    strip = strips_of([listed])[run.pk]
    assert (strip.students, strip.withdrawn) == (2, 1)
    situation = run_situation(run, None, timezone.localdate())
    assert (situation.students, situation.withdrawn) == (2, 1)
    assert run_sentence(situation) == (
        "2 students and 1 withdrawn, 1 without a kit, 1 to pack, 1 away."
    )
    assert enrolments_of(run).count() == 3
    assert [one.students for one in with_sort_facts_of_runs(runs_listed(), ["students"])] == [2]
    assert not runs_listed("no such run")


def test_who_waits_has_no_kit_never_had_one_and_is_still_on_the_run(run):
    kit_for(run)
    freed, waiting = kit_for(run), EnrolmentFactory(run=run)
    unassign(freed.kit, reason="other kit")
    withdraw(EnrolmentFactory(run=run))
    assert set(enrolments_without_kit(run)) == {freed.enrolment, waiting}
    situation = run_situation(run, None, timezone.localdate())
    assert (situation.students, situation.without_kit, situation.to_pack) == (3, 2, 1)
    assert not situation.roster_waits


def test_an_enrolment_shows_its_open_loan_and_what_stands_against_the_kit(run):
    kit_for(run, cleared=False)
    (row,) = enrolments_of(run)
    held = holding(row, timezone.localdate())
    assert (held.loan.stage, held.due, held.left) == ("assigned", "", None)
    assert "not cleared" in held.against.word
    hold(held.loan.kit, reason="cracked housing")
    (row,) = enrolments_of(run)
    assert holding(row, timezone.localdate()).against.word == "held"


def test_a_kit_that_is_away_is_due_and_stays_due_when_its_student_withdraws():
    loan = packed_loan()
    dispatch(loan.kit)
    withdraw(loan.enrolment)
    (row,) = enrolments_of(loan.enrolment.run)
    held = holding(row, loan.due_on + DAY)
    assert (held.mark.word, held.due, held.left.word) == (
        "overdue",
        "overdue by 1 day",
        "withdrawn",
    )
    assert holding(row, loan.due_on).due == "due today"


def test_one_without_a_kit_is_offered_one_unless_withdrawn(run):
    enrolment = EnrolmentFactory(run=run)
    (row,) = enrolments_of(run)
    assert holding(row, timezone.localdate()).next is not None
    withdraw(enrolment)
    (row,) = enrolments_of(run)
    gone = holding(row, timezone.localdate())
    assert (gone.next, gone.mark.word) == (None, "withdrawn")


def test_enrolments_are_found_by_the_code_of_the_kit_they_have(run):
    loan = kit_for(run)
    EnrolmentFactory(run=run)
    assert [row.pk for row in enrolments_listed(run, loan.kit.code)] == [loan.enrolment_id]


def test_free_kits_are_of_the_type_and_with_nobody_cleared_ones_first(run):
    uncleared, cleared = complete_kit(run.kit_type, cleared=False), complete_kit(run.kit_type)
    kit_for(run)
    complete_kit()
    offered = free_kits(run)
    assert [kit.code for kit in offered] == [cleared.code, uncleared.code]
    assert [kit.may_go_out for kit in offered] == [True, False]
