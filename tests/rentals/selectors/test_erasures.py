"""Who is erased next, and what stands in the way of it."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from rentals.accounts import EntryKind
from rentals.actions.balance import note_balance_paid
from rentals.actions.dispatch import dispatch
from rentals.actions.ledger import post_entry
from rentals.actions.receive import write_off
from rentals.actions.settle import charge, settle
from rentals.models import CourseRun, Message, Student
from rentals.selectors.erasures import (
    by_rest,
    due_for_erasure,
    holds_of,
    months_after,
    months_before,
)
from tests.factories import StudentFactory, packed_loan
from tests.rentals.letters import mail_to

pytestmark = pytest.mark.django_db


def test_months_end_with_their_last_day():
    assert months_before(date(2026, 3, 31), 1) == date(2026, 2, 28)
    assert months_after(date(2026, 1, 31), 13) == date(2027, 2, 28)
    assert months_after(date(2026, 12, 5), 24) == date(2028, 12, 5)


def test_the_last_thing_that_happened_counts():
    today = timezone.localdate()
    loan = packed_loan()
    quiet = StudentFactory()
    Student.objects.update(on_file_since=timezone.now() - timedelta(days=1000))
    assert [student.pk for student in by_rest()] == [quiet.pk, loan.enrolment.student_id]
    assert by_rest().last().at_rest == loan.enrolment.run.ends_on
    CourseRun.objects.update(starts_on=date(2020, 1, 1), ends_on=date(2020, 2, 1))
    assert list(due_for_erasure(today)) == [quiet]
    entry = post_entry(loan, EntryKind.DEPOSIT_ASKED, Decimal(5))
    assert entry.day == today
    assert by_rest().last().at_rest == today


def test_every_step_of_a_loan_says_what_is_to_be_done_first():
    loan = packed_loan()
    student = loan.enrolment.student

    def holds() -> str:
        return " ".join(holds_of([student], date(2100, 1, 1))[student.pk])

    assert f"The loan of kit {loan.kit.code} is open (packed)" in holds()
    write_off(dispatch(loan.kit).kit, reason="Stolen.")
    assert "Not decided on the loan" in holds()
    for short in loan.shortfalls.all():
        charge(short, short.amount)
    assert "is not settled: settle it" in holds()
    settle(loan)
    assert "Money is owed" in holds()
    note_balance_paid(loan, timezone.localdate())
    assert holds() == ""
    mail_to("a@b.example", loan=loan, state=Message.State.SENDING, claimed_at=timezone.now())
    assert "being sent at this moment" in holds()
