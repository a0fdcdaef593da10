"""A run's strip: every student once, at the step of the loan that matters."""

from datetime import timedelta

import pytest
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.issue import unassign
from rentals.actions.receive import arrive, write_off
from rentals.actions.runs import withdraw
from rentals.models import CourseRun, Loan
from rentals.selectors.run_strips import SET_ASIDE, STEPS, runs_under_way, strips_of
from rentals.states import LoanStage
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
)

pytestmark = pytest.mark.django_db


def full_run() -> CourseRun:
    """A run with a student at every step, one without a kit and one who withdrew with one."""
    run = CourseRunFactory()

    def to_go() -> tuple:
        return complete_kit(run.kit_type), EnrolmentFactory(run=run)

    EnrolmentFactory(run=run)
    unassign(assigned_loan(*to_go()).kit)
    assigned_loan(*to_go())
    packed_loan(*to_go())
    loans = [dispatch(packed_loan(*to_go()).kit) for _ in range(5)]
    withdraw(loans[0].enrolment)
    arrive(loans[2].kit)
    write_off(loans[3].kit, reason="It was stolen.")
    Loan.objects.filter(pk=loans[4].pk).update(stage=LoanStage.SETTLED)
    return run


def test_every_student_is_counted_once_and_the_withdrawn_apart(signed_in):
    run = full_run()
    strip = strips_of([run])[run.pk]
    assert [segment.mark.word for segment in strip.segments] == [
        "2 without a kit",
        "1 assigned",
        "1 packed",
        "1 away",
        "1 back",
        "1 kit lost",
        "1 settled",
    ]
    assert sum(segment.count for segment in strip.segments) == strip.students == 8
    assert strip.words == "8 students, 1 withdrawn with a kit"
    assert strip.segments[0].frame == "M0.00 0h25.00V8h-25.00Z"
    assert strip.segments[1].fill == "M25.00 6h12.50V8h-12.50Z"
    part = render_to_string("_parts/_strip.html", {"strip": strip})
    assert 'aria-label="8 students, 1 withdrawn with a kit"' in part
    for page in (reverse("rentals:runs"), run.get_absolute_url(), reverse("rentals:today")):
        assert part.strip() in signed_in.get(page).content.decode(), page


def test_steps_are_told_apart_without_colour_and_cover_every_stage():
    shapes = {(step.fill_from, step.fill_to) for step in STEPS}
    assert len(shapes) == len(STEPS)
    stages = {stage for step in STEPS for stage in step.stages}
    assert stages == {None, SET_ASIDE, *LoanStage} - {LoanStage.CANCELLED}


def test_an_open_loan_matters_more_than_one_that_is_over():
    run = CourseRunFactory()
    enrolment = EnrolmentFactory(run=run)
    kits = [complete_kit(run.kit_type) for _ in range(2)]
    over = assigned_loan(kits[0], enrolment)
    stage, later = LoanStage.SETTLED, timezone.now() + timedelta(days=1)
    Loan.objects.filter(pk=over.pk).update(
        stage=stage, assigned_at=later, packed_at=later, override_reason="known good"
    )
    assigned_loan(kits[1], enrolment)
    assert [segment.mark.word for segment in strips_of([run])[run.pk].segments] == ["1 assigned"]


def test_a_run_without_students_has_no_strip_and_many_runs_take_the_same_queries(
    django_assert_num_queries,
):
    runs = [CourseRunFactory() for _ in range(3)]
    EnrolmentFactory(run=runs[0])
    # One reads the tables' marks.
    with django_assert_num_queries(2):
        strips = strips_of(runs)
    assert [strips[run.pk].students for run in runs] == [1, 0, 0]
    assert render_to_string("_parts/_strip.html", {"strip": strips[runs[1].pk]}).strip() == ""


def test_runs_with_a_kit_out_or_posted_soon_are_under_way():
    today = timezone.localdate()
    later = CourseRunFactory(starts_on=today + timedelta(days=90))
    assert list(runs_under_way(today)) == []
    soon = CourseRunFactory(starts_on=today + timedelta(days=8))
    assigned_loan(complete_kit(later.kit_type), EnrolmentFactory(run=later))
    assert list(runs_under_way(today)) == [soon, later]
