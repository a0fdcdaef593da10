"""Which students of a run have no kit yet, as a condition on rows."""

from __future__ import annotations

from django.db.models import Q

from rentals.models import Loan
from rentals.states import LoanStage


def unserved(enrolment: str = "") -> Q:
    """Enrolments that are on their run and never got a kit for it; `enrolment` leads to them from
    other rows, such as ``enrolments__``.
    """
    served = Loan.objects.exclude(stage=LoanStage.CANCELLED).values("enrolment")
    on_the_run = Q(**{f"{enrolment}withdrawn_on__isnull": True})
    return on_the_run & ~Q(**{f"{enrolment}pk__in": served})
