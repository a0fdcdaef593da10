"""Reading the days of the calendar feed."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Aggregate, F, Max, OuterRef, Subquery, TextField
from django.utils import timezone

from rentals.models import CourseRun, Event, Loan, LoanStage, Practice
from rentals.post.calendar import DeskDay, LoanDates, RunDates, desk_days

#: How long days stay in the feed after they are over.
KEPT = timedelta(days=60)
_IN_THE_FEED = (LoanStage.ASSIGNED, LoanStage.PACKED, LoanStage.AWAY)
_RUN = "enrolment__run"


class _Joined(Aggregate):
    """The texts of a group in one, with commas between them."""

    function = "GROUP_CONCAT"
    template = "%(function)s(%(expressions)s, ',')"
    output_field = TextField()

    def as_postgresql(self, compiler: Any, connection: Any) -> Any:
        return self.as_sql(compiler, connection, function="STRING_AGG")


def days_ahead(*, today: date | None = None) -> list[DeskDay]:
    """All entries of the feed, by date."""
    today = today or timezone.localdate()
    country = str(Practice.current().country or "")
    groups = list(_loans_by_days())
    recent = set(CourseRun.objects.filter(return_by__gte=today - KEPT).values_list("pk", flat=True))
    runs = CourseRun.objects.in_bulk(recent | {group[0] for group in groups})
    changes = _last_changes(set(runs))
    dates = {number: _run_dates(run, changes) for number, run in runs.items()}
    return desk_days(
        [dates[number] for number in runs if number in recent],
        [_loan_dates(dates[number], *facts) for number, *facts in groups],
        country,
    )


def _loans_by_days() -> Any:
    """Run, stage, clearance and days of the loans whose kits the feed names, with the codes of
    those that have all of these in common: a fleet has thousands of loans, and few such groups.
    """
    loans = Loan.objects.filter(stage__in=_IN_THE_FEED).order_by()
    facts = loans.values_list(_RUN, "stage", "kit__cleared", "post_by", "due_on")
    return facts.annotate(codes=_Joined(F("kit__code")))


def _last_changes(runs: set[int]) -> dict[int, datetime]:
    """When anything last happened to the kits of these runs, by the run's key. Each loan's last
    event is looked up at the end of an index, however many it has.
    """
    changes: dict[int, datetime] = {}
    of_loans = Loan.objects.filter(enrolment__run__in=runs)
    # Whether a kit is cleared is an event of the kit, not of its loan.
    of_kits = Loan.objects.filter(stage=LoanStage.ASSIGNED)
    for loans, own in ((of_loans, {"loan": OuterRef("pk")}), (of_kits, {"kit": OuterRef("kit")})):
        last = Subquery(Event.objects.filter(**own).order_by("-at").values("at")[:1])
        for run, at in loans.order_by().values_list(_RUN).annotate(last=Max(last)):
            if at is not None:
                changes[run] = max(at, changes.get(run, at))
    return changes


def _run_dates(run: CourseRun, changes: dict[int, datetime]) -> RunDates:
    changed_at = max(run.changed_at, changes.get(run.pk, run.changed_at))
    path = run.get_absolute_url()
    return RunDates(run.pk, run.name, path, run.post_by, run.return_by, changed_at)


def _loan_dates(
    run: RunDates, stage: str, cleared: bool, post_by: date, due_on: date, codes: str
) -> LoanDates:
    return LoanDates(
        run=run,
        kit_codes=tuple(codes.split(",")),
        post_by=post_by,
        due_on=due_on,
        to_post=stage in (LoanStage.ASSIGNED, LoanStage.PACKED),
        to_test=stage == LoanStage.ASSIGNED,
        cleared=cleared,
    )
