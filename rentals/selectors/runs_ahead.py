"""Runs whose students wait for a kit, the first to be posted first."""

from __future__ import annotations

from datetime import date, timedelta

from django.db.models import F, Q, QuerySet

from rentals.models import CourseRun
from rentals.planning.ahead import ASSIGN_AHEAD_DAYS, RunAhead
from rentals.selectors.unserved import counts_waiting


def runs_waiting(today: date) -> QuerySet[CourseRun]:
    """Runs that are not over and have students who wait for a kit, with `counts_waiting`."""
    runs = CourseRun.objects.filter(ends_on__gte=today).annotate(**counts_waiting())
    return runs.filter(Q(waiting__gt=0)).order_by("post_by", "pk")


def runs_to_assign(today: date) -> QuerySet[CourseRun]:
    """Of these runs the ones to be posted soon, or that should have been posted, where somebody has
    no kit set aside or one that is here.
    """
    runs = runs_waiting(today).filter(post_by__lte=today + timedelta(days=ASSIGN_AHEAD_DAYS))
    return runs.filter(Q(waiting__gt=F("set_aside")) | Q(set_aside_here__gt=0))


def runs_before(run: CourseRun, today: date) -> list[RunAhead]:
    """Runs of the same kit type that wait for kits and are posted before a run."""
    earlier = runs_waiting(today).filter(kit_type=run.kit_type_id, post_by__lt=run.post_by)
    return [RunAhead(row.name, row.post_by, vars(row)["waiting"]) for row in earlier]
