"""Loans as the plan takes them."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.issue import clear
from rentals.actions.receive import arrive
from rentals.models import Earmark, Kit, Loan
from rentals.planning.kit_plan import ClashKind, Hold
from rentals.planning.plan_window import window_of
from rentals.selectors.kit_plans import PlanFilter, kits_planned, plan_rows, waiting_for
from rentals.selectors.plan_days import day_rules
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
)

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def row_of(kit: Kit):
    today = timezone.localdate()
    window = window_of("", "", today)
    rows = plan_rows(kits_planned(PlanFilter(), window, today), window, day_rules(), today)
    return next(row for row in rows if row.kit == kit)


def test_each_stage_holds_the_kit_in_its_own_way() -> None:
    assigned, packed = assigned_loan(), packed_loan()
    away, back = dispatch(packed_loan().kit), dispatch(packed_loan().kit)
    arrive(back.kit)
    found = {
        name: row_of(loan.kit)
        for name, loan in (
            ("assigned", assigned),
            ("packed", packed),
            ("away", away),
            ("back", back),
        )
    }
    holds = {name: row.plan.stays[0].lending.hold for name, row in found.items()}
    assert holds == {
        "assigned": Hold.AGREED,
        "packed": Hold.AGREED,
        "away": Hold.AWAY,
        "back": Hold.BACK,
    }
    today = timezone.localdate()
    assert found["assigned"].plan.stays[0].lending.posted.rule == "entered"
    assert found["away"].plan.stays[0].lending.posted.rule == "the day it was dispatched"
    assert found["back"].plan.stays[0].back == today
    assert found["back"].plan.stays[0].free.day > today
    # Packed is closed: the parcel must be opened before its kit is another's.
    assert [bool(row.swap_url) for row in found.values()] == [True, False, False, False]
    assert not any(row.lend_url for row in found.values())


def test_a_kit_that_is_free_may_be_lent_and_a_cleared_one_needs_no_turnaround() -> None:
    loan = dispatch(packed_loan().kit)
    arrive(loan.kit)
    Loan.objects.filter(pk=loan.pk).update(stage="returned")
    Kit.objects.filter(pk=loan.kit_id).update(state="bench")
    clear(Kit.objects.get(pk=loan.kit_id), why="tests")
    row = row_of(loan.kit)
    assert row.lend_url and not row.swap_url
    assert row.plan.stays[0].free.day == timezone.localdate()


def test_a_kit_set_aside_is_planned_for_its_student_and_clashes_where_it_is_not_back() -> None:
    loan = dispatch(packed_loan().kit)
    kit, today = loan.kit, timezone.localdate()
    Loan.objects.filter(pk=loan.pk).update(post_by=today, due_on=today + 6 * DAY)
    run = CourseRunFactory(kit_type=kit.kit_type, post_by=today + 7 * DAY)
    waiting, gone = EnrolmentFactory(run=run), EnrolmentFactory(run=run, withdrawn_on=today)
    for enrolment in (waiting, gone):
        Earmark.objects.create(kit=kit, enrolment=enrolment, at=timezone.now())
    row = row_of(kit)
    assert [stay.lending.hold for stay in row.stays] == [Hold.AWAY, Hold.SET_ASIDE]
    aside = row.stays[1].lending
    assert (aside.who, aside.address) == (waiting.student.name, f"/runs/{run.pk}/assign/")
    assert [clash.kind for clash in row.plan.clashes] == [ClashKind.OVERLAP]
    window = window_of("", "", today)
    for wanted in (PlanFilter(run=run.pk), PlanFilter(words=waiting.student.name)):
        assert list(kits_planned(wanted, window, today)) == [kit]


def test_who_waits_for_a_kit_of_the_type_is_offered_first_to_be_posted_first() -> None:
    kit, today = complete_kit(), timezone.localdate()
    later = EnrolmentFactory(run=CourseRunFactory(kit_type=kit.kit_type))
    early = CourseRunFactory(kit_type=kit.kit_type, post_by=later.run.post_by - timedelta(days=3))
    first = EnrolmentFactory(run=early)
    EnrolmentFactory(run=early, withdrawn_on=today)
    EnrolmentFactory()
    assert [pk for pk, _ in waiting_for(kit, today)] == [first.pk, later.pk]
