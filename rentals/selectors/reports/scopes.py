"""The scope of a report as conditions on rows."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

from django.db.models import Q
from django.utils import timezone

from rentals.models import LoanStage
from rentals.reports.scope import ReportScope

#: Stages of a loan that is over: its parcel was checked, or given up.
OVER = (LoanStage.RETURNED, LoanStage.SETTLED, LoanStage.LOST)


def within(moment: str, scope: ReportScope) -> Q:
    """Rows whose `moment` lies in the days of the scope."""
    days = Q()
    if scope.since:
        days &= Q(**{f"{moment}__gte": _start_of(scope.since)})
    if scope.until and scope.until < date.max:
        days &= Q(**{f"{moment}__lt": _start_of(scope.until + timedelta(days=1))})
    return days


def _start_of(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time.min))


def ended_loans(scope: ReportScope, loan: str = "") -> Q:
    """Loans that ended in the scope; `loan` is the way to them with its underscores."""
    over = Q(**{f"{loan}stage__in": OVER})
    return over & within(f"{loan}closed_at", scope) & _of_run(scope, loan)


def posted_loans(scope: ReportScope, loan: str = "") -> Q:
    """Loans whose parcel was posted in the scope."""
    posted = Q(**{f"{loan}dispatched_at__isnull": False})
    return posted & within(f"{loan}dispatched_at", scope) & _of_run(scope, loan)


def _of_run(scope: ReportScope, loan: str) -> Q:
    return Q() if scope.run is None else Q(**{f"{loan}enrolment__run": scope.run})
