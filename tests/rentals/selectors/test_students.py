"""Students for the list and their own page: kits, mails, and what lacks, with its sums."""

from decimal import Decimal

import pytest

from rentals.actions.dispatch import dispatch
from rentals.actions.issue import unassign
from rentals.actions.receive import write_off
from rentals.actions.settle import charge
from rentals.models import Enrolment, Loan
from rentals.selectors.students import (
    loans_of,
    student_page,
    student_row,
    students_listed,
)
from tests.factories import StudentFactory, assigned_loan, complete_kit, packed_loan

pytestmark = pytest.mark.django_db


def lost_loan() -> Loan:
    return write_off(dispatch(packed_loan().kit).kit, reason="It was stolen.")


def test_the_list_tells_the_kit_of_now_the_runs_and_what_lacks():
    lost, busy = lost_loan(), assigned_loan()
    idle = StudentFactory(name="Zoe Idle", city="Farville")
    rows = {row.student: row for row in map(student_row, students_listed())}
    assert [loan.kit for loan in rows[busy.enrolment.student].loans] == [busy.kit]
    assert rows[lost.enrolment.student].loans == ()
    assert rows[lost.enrolment.student].student.short == lost.shortfalls.count() > 1
    assert (rows[idle].student.runs, rows[idle].student.short) == (0, 0)
    assert list(students_listed("farv")) == [idle]
    assert not students_listed("nobody of that name")


def test_a_page_holds_loans_in_every_state_and_the_sums_of_what_lacks():
    lost = lost_loan()
    student = lost.enrolment.student
    first, *rest = lost.shortfalls.order_by("pk")
    charge(first, Decimal("100"))
    again = assigned_loan(complete_kit(lost.kit.kit_type))
    Enrolment.objects.filter(pk=again.enrolment_id).update(student=student)
    unassign(again.kit)
    page = student_page(student)
    assert [loan.stage for loan in page.loans] == ["cancelled", "lost"]
    assert list(loans_of(student)) == page.loans
    assert page.sums.charged == 100
    assert page.sums.undecided == sum(short.amount for short in rest)
    assert page.shortfalls[-1] == first, "what has ended comes last"
    assert {mail.loan for mail, _ in page.mails} == {lost}
    assert (page.more_mails, page.more_shortfalls) == (0, 0)
