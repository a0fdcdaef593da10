"""Reading the days of the calendar feed."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.db.models import Max
from django.utils import timezone

from rentals.models import OPEN_STAGES, CourseRun, Event, Loan, LoanStage, Practice
from rentals.post.calendar import DeskDay, LoanDates, RunDates, desk_days

#: How long days stay in the feed after they are over.
KEPT = timedelta(days=60)


def days_ahead(*, today: date | None = None) -> list[DeskDay]:
    """All entries of the feed, by date."""
    today = today or timezone.localdate()
    country = str(Practice.current().country or "")
    runs = list(CourseRun.objects.filter(return_by__gte=today - KEPT))
    loans = Loan.objects.filter(stage__in=OPEN_STAGES).exclude(stage=LoanStage.CHECK)
    loans = loans.select_related("kit", "enrolment__run").order_by("kit__code")
    changes = _last_changes({run.pk for run in runs} | {loan.enrolment.run_id for loan in loans})
    return desk_days(
        [_run_dates(run, changes) for run in runs],
        [_loan_dates(loan, changes) for loan in loans],
        country,
    )


def _last_changes(runs: set[int]) -> dict[int, datetime]:
    """When anything last happened to the kits of these runs, by the run's key."""
    of_loans = Event.objects.filter(loan__enrolment__run__in=runs).order_by()
    changes = dict(of_loans.values_list("loan__enrolment__run").annotate(Max("at")))
    # Whether a kit is cleared is an event of the kit, not of its loan.
    of_kits = Event.objects.filter(kit__loans__stage=LoanStage.ASSIGNED).order_by()
    for run, at in of_kits.values_list("kit__loans__enrolment__run").annotate(Max("at")):
        changes[run] = max(at, changes.get(run, at))
    return changes


def _run_dates(run: CourseRun, changes: dict[int, datetime]) -> RunDates:
    changed_at = max(run.changed_at, changes.get(run.pk, run.changed_at))
    path = run.get_absolute_url()
    return RunDates(run.pk, run.name, path, run.post_by, run.return_by, changed_at)


def _loan_dates(loan: Loan, changes: dict[int, datetime]) -> LoanDates:
    return LoanDates(
        run=_run_dates(loan.enrolment.run, changes),
        kit_code=loan.kit.code,
        post_by=loan.post_by,
        due_on=loan.due_on,
        to_post=loan.stage in (LoanStage.ASSIGNED, LoanStage.PACKED),
        to_test=loan.stage == LoanStage.ASSIGNED,
        cleared=loan.kit.cleared,
    )
