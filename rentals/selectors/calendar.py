"""Reading the days of the calendar feed."""

from __future__ import annotations

from datetime import date, timedelta

from django.utils import timezone

from rentals.models import OPEN_STAGES, CourseRun, Loan, LoanStage, Practice
from rentals.post.calendar import DeskDay, LoanDates, RunDates, desk_days

#: How long days stay in the feed after they are over.
KEPT = timedelta(days=60)


def days_ahead(*, today: date | None = None) -> list[DeskDay]:
    """All entries of the feed, by date."""
    today = today or timezone.localdate()
    country = str(Practice.current().country or "")
    runs = CourseRun.objects.filter(return_by__gte=today - KEPT)
    loans = Loan.objects.filter(stage__in=OPEN_STAGES).exclude(stage=LoanStage.CHECK)
    loans = loans.select_related("kit", "enrolment__run").order_by("kit__code")
    return desk_days(map(_run_dates, runs), map(_loan_dates, loans), country)


def _run_dates(run: CourseRun) -> RunDates:
    return RunDates(run.pk, run.name, run.get_absolute_url(), run.post_by, run.return_by)


def _loan_dates(loan: Loan) -> LoanDates:
    return LoanDates(
        run=_run_dates(loan.enrolment.run),
        kit_code=loan.kit.code,
        post_by=loan.post_by,
        due_on=loan.due_on,
        to_post=loan.stage in (LoanStage.ASSIGNED, LoanStage.PACKED),
        to_test=loan.stage == LoanStage.ASSIGNED,
        cleared=loan.kit.cleared,
    )
