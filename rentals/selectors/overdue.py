"""Which loans are overdue: `rentals.due_dates.is_overdue` as a condition on rows."""

from __future__ import annotations

from datetime import date

from django.db.models import Q

from rentals.states import LoanStage


def overdue_on(today: date, loan: str = "") -> Q:
    """Loans that are away and due before `today`; `loan` leads to them from other rows, such as
    ``loans__``.
    """
    return Q(**{f"{loan}stage": LoanStage.AWAY, f"{loan}due_on__lt": today})
