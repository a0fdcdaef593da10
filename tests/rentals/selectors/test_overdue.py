"""Overdue as a condition on rows and as a rule for one loan: they agree on every day."""

from datetime import timedelta

import pytest

from rentals.due_dates import is_overdue
from rentals.models import CourseRun, Loan
from rentals.selectors.overdue import overdue_on
from rentals.states import LoanStage
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db


def test_a_loan_that_is_away_is_overdue_from_the_day_after_it_is_due():
    loan = packed_loan()
    for days in (-1, 0, 1):
        today = loan.due_on + timedelta(days=days)
        assert not Loan.objects.filter(overdue_on(today)).exists()
    Loan.objects.update(stage=LoanStage.AWAY)
    for days in (-1, 0, 1):
        today = loan.due_on + timedelta(days=days)
        runs = CourseRun.objects.filter(overdue_on(today, "enrolments__loans__"))
        answers = {Loan.objects.filter(overdue_on(today)).exists(), runs.exists()}
        assert answers == {is_overdue(loan.due_on, today)} == {days > 0}
