"""Runs and their people are changed by one action each, wholly or not at all."""

from datetime import date, timedelta

import pytest

from rentals.actions.runs import assign_all, enrol, enrol_new, save_run, save_student, withdraw
from rentals.errors import Refused
from rentals.models import Loan
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    KitTypeFactory,
    StudentFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
)

pytestmark = pytest.mark.django_db


def test_assigning_is_all_or_none() -> None:
    run = CourseRunFactory()
    kit = complete_kit(run.kit_type)
    pairs = [(EnrolmentFactory(run=run), kit), (EnrolmentFactory(run=run), kit)]
    with pytest.raises(Refused) as refusal:
        assign_all(pairs)
    assert refusal.value.field == f"kit_{pairs[1][0].pk}"
    assert not Loan.objects.exists()


def test_new_days_move_assigned_loans_that_follow_the_run_only() -> None:
    loan, packed = assigned_loan(), packed_loan()
    run = loan.enrolment.run
    own = assigned_loan(complete_kit(run.kit_type), EnrolmentFactory(run=run))
    Loan.objects.filter(pk=own.pk).update(due_on=run.return_by + timedelta(days=3))
    run.return_by += timedelta(days=7)
    save_run(run)
    loan.refresh_from_db()
    own.refresh_from_db()
    assert loan.due_on == run.return_by
    assert own.due_on == run.return_by - timedelta(days=4)
    with pytest.raises(Refused, match="another type"):
        other = packed.enrolment.run
        other.kit_type = KitTypeFactory()
        save_run(other)


def test_a_student_who_withdraws_frees_an_assigned_kit_and_may_come_again() -> None:
    loan = assigned_loan()
    enrolment = withdraw(loan.enrolment, on=date(2026, 5, 1))
    loan.kit.refresh_from_db()
    assert (enrolment.withdrawn_on, loan.kit.state) == (date(2026, 5, 1), "shelf")
    assert withdraw(enrolment, on=date(2026, 6, 1)).withdrawn_on == date(2026, 5, 1)
    again = enrol(enrolment.run, enrolment.student)
    assert (again.pk, again.withdrawn_on) == (enrolment.pk, None)


def test_a_packed_kit_must_be_unpacked_before_its_student_withdraws() -> None:
    loan = packed_loan()
    with pytest.raises(Refused, match="unpack it first"):
        withdraw(loan.enrolment)
    loan.enrolment.refresh_from_db()
    assert loan.enrolment.withdrawn_on is None


def test_a_known_address_means_the_student_on_file_whose_empty_facts_are_filled() -> None:
    on_file = StudentFactory(email="ada@x.example", city="", name="Ada")
    run = CourseRunFactory()
    typed = StudentFactory.build(email="ADA@x.example", city="Rosinburg", name="Other")
    enrolment = enrol_new(run, typed)
    on_file.refresh_from_db()
    assert enrolment.student_id == on_file.pk
    assert (on_file.name, on_file.city) == ("Ada", "Rosinburg")
    with pytest.raises(Refused, match="Ada is on this run already"):
        enrol_new(run, typed)
    assert enrol_new(run, StudentFactory.build()).student.pk != on_file.pk


def test_an_address_belongs_to_one_student() -> None:
    StudentFactory(email="ada@x.example", name="Ada")
    with pytest.raises(Refused, match="Ada has this e-mail address already"):
        save_student(StudentFactory.build(email="Ada@X.example"))


@pytest.mark.parametrize(
    ("early", "late", "field"),
    [("starts_on", "ends_on", "ends_on"), ("post_by", "return_by", "return_by")],
)
def test_days_out_of_order_name_their_field(early: str, late: str, field: str) -> None:
    run = CourseRunFactory()
    setattr(run, late, getattr(run, early) - timedelta(days=1))
    with pytest.raises(Refused) as refusal:
        save_run(run)
    assert refusal.value.field == field


def test_the_kit_type_stays_while_kits_are_assigned() -> None:
    run = assigned_loan().enrolment.run
    run.kit_type = KitTypeFactory()
    with pytest.raises(Refused) as refusal:
        save_run(run)
    assert refusal.value.field == "kit_type"


def test_a_run_has_a_name_of_its_own_and_what_is_settled_once_is_not_done_again() -> None:
    run = CourseRunFactory()
    twin = CourseRunFactory.build(kit_type=run.kit_type, name=run.name.upper())
    with pytest.raises(Refused, match="There is a run called") as refusal:
        save_run(twin)
    assert refusal.value.field == "name"
    enrolment = EnrolmentFactory(run=run)
    first = withdraw(enrolment, on=date(2026, 5, 4)).withdrawn_on
    assert withdraw(enrolment, on=date(2026, 5, 5)).withdrawn_on == first
