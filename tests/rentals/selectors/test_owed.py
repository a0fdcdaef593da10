"""What is owed, by whom and since when, read from the ledger."""

import csv
import io
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from rentals.actions.assign import assign
from rentals.actions.balance import Paid, give_up_balance, note_balance_paid
from rentals.actions.compensation import claim_compensation
from rentals.actions.settle import charge, recover, settle
from rentals.errors import Refused
from rentals.models import Practice, Student
from rentals.planning.owed import Debtor
from rentals.selectors.export import ExportFormat
from rentals.selectors.owed import debts, debts_listed, due_now, export_owed, owed_rows
from tests.factories import EnrolmentFactory, complete_kit
from tests.rentals.actions.acts import shortfall_of

pytestmark = pytest.mark.django_db


def told() -> list[tuple[str, Decimal, str]]:
    return [(debt.debtor, debt.amount, debt.why) for debt in debts()]


def test_a_deposit_that_has_not_come_is_owed_from_the_day_it_was_asked():
    kit = complete_kit()
    loan = assign(kit, EnrolmentFactory(run__kit_type=kit.kit_type))
    assert told() == [("students", 80, "deposit that has not come")]
    (row,) = owed_rows(debts(), timezone.localdate())
    assert (row.loan.pk, row.days, row.next.act) == (loan.pk, 0, "Note the deposit")


def test_charges_and_refunds_are_owed_once_the_loan_is_over_until_they_are_paid():
    short = shortfall_of("charger")
    assert told() == []
    charge(short, Decimal(100))
    assert told() == [("students", 20, "charges beyond the deposit")]
    loan = settle(short.loan)
    note_balance_paid(loan, timezone.localdate(), Paid(Decimal(5)))
    assert told() == [("students", 15, "charges beyond the deposit")]
    note_balance_paid(loan, timezone.localdate())
    assert told() == []
    recover(short)
    assert told() == [("us", 100, "to be paid back")]
    claim_compensation(loan, Paid(Decimal(9)))
    assert ("carriers", 9, "compensation") in told()
    assert [debt.debtor for debt in due_now(debts(), timezone.localdate(), Practice())] == ["us"]


def test_a_student_is_overdue_after_the_days_to_pay_and_asked_no_more_once_it_is_given_up():
    short = shortfall_of("charger")
    charge(short, Decimal(100))
    loan = settle(short.loan)
    practice, today = Practice(days_to_pay=14), timezone.localdate()
    assert due_now(debts(), today + timedelta(days=14), practice) == []
    (late,) = due_now(debts(), today + timedelta(days=15), practice)
    assert late.debtor is Debtor.STUDENT
    with pytest.raises(Refused, match="Say why"):
        give_up_balance(loan, reason="")
    give_up_balance(loan, reason="It would cost more to ask.")
    assert told() == []


def test_the_list_is_narrowed_and_leaves_as_a_file_without_formulas():
    kit = complete_kit()
    loan = assign(kit, EnrolmentFactory(run__kit_type=kit.kit_type))
    Student.objects.update(name="=1+1")
    today = loan.assigned_at.date() + timedelta(days=3)
    assert debts_listed(debts(), "us", "") == []
    assert debts_listed(debts(), "students", "nobody") == []
    listed = debts_listed(debts(), "students", "=1+")
    content = b"".join(export_owed(listed, today, ExportFormat.CSV))
    _, row = csv.reader(io.StringIO(content.decode("utf-8-sig")))
    assert (row[2], row[5], row[6]) == ("'=1+1", "80.00", "EUR")
    assert date.fromisoformat(row[7]) <= today
