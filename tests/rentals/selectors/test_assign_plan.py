"""What a plan of kits is made from."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils.timezone import localdate

from rentals.actions.dispatch import dispatch
from rentals.actions.earmark import set_aside
from rentals.actions.issue import hold, refuse_clearance
from rentals.models import Kit
from rentals.selectors.assign_plan import plan_facts, runs_to_plan
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
)

pytestmark = pytest.mark.django_db


def later_run(kit: Kit, days: int = 200):
    return CourseRunFactory(kit_type=kit.kit_type, starts_on=localdate() + timedelta(days=days))


def test_a_kit_is_known_by_where_it_is_and_when_it_is_free() -> None:
    here = complete_kit()
    to_test = complete_kit(here.kit_type, cleared=False)
    away = dispatch(packed_loan(complete_kit(here.kit_type)).kit)
    held = hold(complete_kit(here.kit_type), reason="A strap is missing.")
    run = later_run(here)
    EnrolmentFactory(run=run)
    today = localdate()
    facts = plan_facts([run], today)
    kits = {kit.code: kit for kit in facts.kits}
    assert held.code not in kits
    assert (kits[here.code].free_on, kits[here.code].to_do) == (today, 0)
    assert kits[to_test.code].free_on > today and kits[to_test.code].to_do == 1
    assert kits[away.kit.code].free_on > away.due_on and kits[away.kit.code].comes_back
    assert facts.holders == {away.kit.code: away.enrolment.student.name}


def test_what_is_assigned_or_set_aside_is_agreed_and_a_begun_parcel_stays() -> None:
    loan = assigned_loan()
    begun = assigned_loan(complete_kit(loan.kit.kit_type), EnrolmentFactory(run=loan.enrolment.run))
    line = begun.packing_lines.first()
    begun.packing_lines.filter(pk=line.pk).update(ticked_at=begun.assigned_at)
    run = loan.enrolment.run
    enrolment, elsewhere = EnrolmentFactory(run=run), EnrolmentFactory(run=later_run(loan.kit))
    third = complete_kit(loan.kit.kit_type)
    set_aside({enrolment.pk: third.code, elsewhere.pk: third.code})
    facts = plan_facts([run], localdate())
    agreed = {row.who: (row.code, row.pinned) for row in facts.agreed}
    assert agreed == {
        loan.enrolment_id: (loan.kit.code, False),
        begun.enrolment_id: (begun.kit.code, True),
        enrolment.pk: (third.code, False),
        elsewhere.pk: (third.code, True),
    }
    assert set(facts.students) == {loan.enrolment_id, begun.enrolment_id, enrolment.pk}
    refuse_clearance(loan.kit, reason="Lead A is open.")
    worse = plan_facts([run], localdate())
    assert worse.digest != facts.digest and loan.kit.code in worse.unfit
    assert worse.unfit == {loan.kit.code: "Lead A is open."}


def test_the_queries_do_not_grow_with_students_and_kits() -> None:
    kit = complete_kit()
    run = later_run(kit)

    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            plan_facts(list(runs_to_plan(localdate())), localdate())
        return len(seen)

    EnrolmentFactory(run=run)
    few = queries()
    for _ in range(4):
        EnrolmentFactory(run=run)
        assigned_loan(complete_kit(kit.kit_type), EnrolmentFactory(run=run))
    # One of them finds since when the past that is kept holds.
    assert queries() <= few <= 11


def test_runs_that_are_over_or_packed_are_not_planned() -> None:
    packed = packed_loan().enrolment.run
    over = CourseRunFactory(starts_on=localdate() - timedelta(days=200))
    EnrolmentFactory(run=over)
    waits = EnrolmentFactory().run
    assert list(runs_to_plan(localdate())) == [waits]
    assert packed.pk != waits.pk
