"""What was agreed and cannot be had is found, and leads to the plan."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.timezone import localdate

from rentals.actions.dispatch import dispatch
from rentals.actions.earmark import set_aside
from rentals.actions.issue import hold, refuse_clearance
from rentals.selectors.broken_plans import (
    broken_earmarks,
    plan_again,
    refused_loans,
    set_aside_rows,
    trouble_of,
)
from rentals.selectors.earmarks import earmarks
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
)

pytestmark = pytest.mark.django_db


def test_kits_held_or_back_too_late_are_found_and_no_others(signed_in: Client) -> None:
    loan = dispatch(packed_loan().kit)
    kind = loan.kit.kit_type
    soon = CourseRunFactory(kit_type=kind, starts_on=loan.due_on + timedelta(days=5))
    later = CourseRunFactory(kit_type=kind, starts_on=loan.due_on + timedelta(days=60))
    here, held = complete_kit(kind), complete_kit(kind)
    late, fine, other, gone = (EnrolmentFactory(run=run) for run in (soon, later, soon, later))
    kits = {late: loan.kit, fine: loan.kit, other: here, gone: held}
    set_aside({who.pk: kit.code for who, kit in kits.items()})
    hold(held, reason="A strap is missing.")
    today = localdate()
    broken = broken_earmarks(today)
    assert {row.enrolment for row in broken} == {late, gone}
    assert {trouble_of(row).split(" by ")[0] for row in broken} == {
        "the kit is held",
        "the kit is not free",
    }
    rows = set_aside_rows(earmarks().filter(kit=loan.kit), today)
    assert [bool(row.trouble) for row in rows] == [True, False]
    for page in (loan, loan.kit, late.student):
        shown = signed_in.get(page.get_absolute_url()).content.decode()
        assert "cannot be had" in shown and plan_again(late) in shown
    shown = signed_in.get(reverse("rentals:today")).content.decode()
    assert "Agreed kits that cannot be had" in shown and plan_again(gone) in shown


def test_an_assigned_kit_that_the_bench_refused_is_found() -> None:
    loan = assigned_loan()
    assigned_loan()
    assert not refused_loans()
    refuse_clearance(loan.kit, reason="Lead A is open.")
    assert list(refused_loans()) == [loan]
