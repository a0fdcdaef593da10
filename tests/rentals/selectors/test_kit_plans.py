"""Loans as the plan takes them."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.issue import clear
from rentals.actions.receive import arrive
from rentals.models import Kit, Loan
from rentals.planning.kit_plan import Hold
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


def test_who_waits_for_a_kit_of_the_type_is_offered_first_to_be_posted_first() -> None:
    kit, today = complete_kit(), timezone.localdate()
    later = EnrolmentFactory(run=CourseRunFactory(kit_type=kit.kit_type))
    early = CourseRunFactory(kit_type=kit.kit_type, post_by=later.run.post_by - timedelta(days=3))
    first = EnrolmentFactory(run=early)
    EnrolmentFactory(run=early, withdrawn_on=today)
    EnrolmentFactory()
    assert [pk for pk, _ in waiting_for(kit, today)] == [first.pk, later.pk]
