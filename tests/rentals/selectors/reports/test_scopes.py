"""Days and run of a report as conditions on loans."""

from datetime import date

import pytest

from rentals.models import Loan
from rentals.reports.scope import ReportScope
from rentals.selectors.reports.scopes import ended_loans, posted_loans
from tests.factories import EnrolmentFactory

from .ended import ended_loan, posted_loan

pytestmark = pytest.mark.django_db


def test_both_days_count_in_and_a_run_is_told_from_others():
    loan = ended_loan(days=10)  # posted on 2 March, back on the 12th
    posted_loan()
    run = loan.enrolment.run.pk
    cases = [
        (ReportScope(), 1, 2),
        (ReportScope(date(2026, 3, 12), date(2026, 3, 12)), 1, 0),
        (ReportScope(until=date(2026, 3, 11)), 0, 2),
        (ReportScope(since=date(2026, 3, 13)), 0, 0),
        (ReportScope(until=date.max), 1, 2),
        (ReportScope(run=run), 1, 1),
        (ReportScope(run=EnrolmentFactory().run.pk), 0, 0),
    ]
    for scope, ended, posted in cases:
        assert Loan.objects.filter(ended_loans(scope)).count() == ended, scope
        assert Loan.objects.filter(posted_loans(scope)).count() == posted, scope
