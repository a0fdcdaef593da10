"""Rows as the forecast wants them."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.issue import clear, refuse_clearance
from rentals.actions.receive import arrive, finish_check, write_off
from rentals.models import Loan, Practice
from rentals.planning.bench_chance import BenchRecord
from rentals.selectors.past_loans import fleet_record, past_loans
from tests.factories import assigned_loan, packed_loan

pytestmark = pytest.mark.django_db


def sent(**facts):
    loan = dispatch(packed_loan().kit)
    Loan.objects.filter(pk=loan.pk).update(**facts)
    return loan


def test_a_loan_counts_from_the_day_it_is_handed_over():
    assigned_loan()
    today = timezone.localdate()
    out, back, lost = sent(), sent(), sent()
    arrive(back.kit)
    write_off(lost.kit, reason="the post lost it")
    found = {loan.run: loan for loan in past_loans(Practice(country="DE"), today)}
    assert len(found) == 3
    assert found[out.enrolment.run_id].ended_on is None
    assert found[back.enrolment.run_id].ended_on == today
    assert not found[back.enrolment.run_id].lost
    assert found[lost.enrolment.run_id].lost
    assert found[lost.enrolment.run_id].ended_on == today
    assert not any(loan.abroad for loan in found.values())
    assert all(loan.abroad for loan in past_loans(Practice(country="AT"), today))
    assert not any(loan.abroad for loan in past_loans(Practice(), today))


def test_the_bench_record_is_read_from_the_events(monkeypatch):
    passed, refused = sent(), sent()
    for loan in (passed, refused):
        check = arrive(loan.kit)
        for line in check.lines.all():
            whole = line.packing_line.quantity
            check.lines.filter(pk=line.pk).update(
                outcome="back", quantity_back=whole, cleaned=True, charged=True
            )
        finish_check(check)
    clear(passed.kit, why="all required tests fit")
    refuse_clearance(refused.kit, reason="Lead A opens when bent.")
    assert fleet_record(timezone.now()) == BenchRecord(passed=1, failed=1)
    # The newest steps alone are read: the refusal and what came just before it.
    monkeypatch.setattr("rentals.selectors.past_loans.MOST_STEPS", 1)
    assert fleet_record(timezone.now()) == BenchRecord()
    monkeypatch.undo()
    assert fleet_record(timezone.now() + timedelta(days=800)) == BenchRecord()
