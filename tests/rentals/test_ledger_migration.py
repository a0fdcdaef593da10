"""Loans of before get the ledger that their rows tell."""

from datetime import date
from decimal import Decimal
from importlib import import_module
from types import SimpleNamespace

import pytest
from django.utils import timezone

from rentals.models import Entry, Loan, Shortfall
from rentals.selectors.ledger import loan_sums
from tests.factories import EnrolmentFactory, complete_kit

MIGRATION = import_module("rentals.migrations.0030_ledger_of_loans_of_today")
pytestmark = pytest.mark.django_db


def _earlier(stage: str, **facts: object) -> Loan:
    """A loan as rows had it before there was a ledger."""
    kit, now = complete_kit(), timezone.now()
    days = {"post_by": now.date(), "due_on": now.date(), "assigned_at": now}
    enrolment = EnrolmentFactory(run__kit_type=kit.kit_type)
    facts |= {"cleared_at_packing": now, "packed_at": now, "deposit": Decimal(80), "stage": stage}
    return Loan.objects.create(kit=kit, enrolment=enrolment, **days, **facts)


@pytest.mark.parametrize(
    ("charged", "paid_on", "refund", "to_pay"),
    [(None, None, 80, 0), (30, None, 50, 0), (100, None, 0, 20), (100, date(2027, 1, 9), 0, 0)],
)
def test_the_sums_of_a_settled_loan_are_those_of_before(charged, paid_on, refund, to_pay):
    now = timezone.now()
    loan = _earlier("settled", dispatched_at=now, arrived_at=now, closed_at=now)
    if charged is not None:
        Shortfall.objects.create(
            loan=loan,
            packing_line=loan.packing_lines.create(order=0, part_kind="charger", name="Charger"),
            kind="missing",
            amount=Decimal(charged),
            state="charged",
            opened_at=now,
            closed_at=now,
        )
    _take_over(loan, paid_on)
    sums = loan_sums(loan)
    assert (sums.refund, sums.to_pay, sums.charged) == (refund, to_pay, charged or 0)
    assert sums.paid_on == paid_on
    assert all(entry.taken_over for entry in Entry.objects.all())


def test_a_deposit_of_a_kit_that_never_went_out_is_asked_and_not_here():
    loan = _earlier("assigned")
    _take_over(loan, None)
    assert (loan_sums(loan).deposit, loan_sums(loan).deposit_open) == (0, 80)


def _take_over(loan, paid_on: date | None) -> None:
    loan.balance_paid_on = paid_on
    rows = SimpleNamespace(objects=_Rows([loan]))
    practices = SimpleNamespace(objects=_Rows([]))
    models = {"Loan": rows, "Practice": practices, "Entry": Entry}
    MIGRATION.take_over(SimpleNamespace(get_model=lambda app, name: models[name]), None)


class _Rows(list):
    """Rows as the migration finds them, with the column that is gone since."""

    def __getattr__(self, name: str):
        return lambda *args, **facts: self

    def first(self):
        return None

    def iterator(self, chunk_size: int):
        return iter(self)
