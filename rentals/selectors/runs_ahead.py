"""Runs whose students wait for a kit, the first to be posted first."""

from __future__ import annotations

from datetime import date, timedelta

from django.db.models import Count, QuerySet

from rentals.models import CourseRun
from rentals.planning.ahead import ASSIGN_AHEAD_DAYS, RunAhead
from rentals.selectors.unserved import unserved


def runs_waiting(today: date) -> QuerySet[CourseRun]:
    """Runs that are not over and have students without a kit, counted as `waiting`."""
    waiting = Count("enrolments", filter=unserved("enrolments__"))
    runs = CourseRun.objects.filter(ends_on__gte=today).annotate(waiting=waiting)
    return runs.filter(waiting__gt=0).order_by("post_by", "pk")


def runs_to_assign(today: date) -> QuerySet[CourseRun]:
    """Of these runs the ones to be posted soon, or that should have been posted."""
    return runs_waiting(today).filter(post_by__lte=today + timedelta(days=ASSIGN_AHEAD_DAYS))


def runs_before(run: CourseRun, today: date) -> list[RunAhead]:
    """Runs of the same kit type that wait for kits and are posted before a run."""
    earlier = runs_waiting(today).filter(kit_type=run.kit_type_id, post_by__lt=run.post_by)
    return [RunAhead(row.name, row.post_by, vars(row)["waiting"]) for row in earlier]
