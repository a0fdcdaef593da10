"""Kits, runs and loans as other programs read them: in the order of their rows."""

from __future__ import annotations

from datetime import datetime

from django.db.models import Count, OuterRef, Prefetch, Q, QuerySet, Subquery

from rentals.models import OPEN_STAGES, CourseRun, Event, Kit, Loan


def kits_in_order(since: datetime | None = None) -> QuerySet[Kit]:
    """All kits, each with its open loan as `open_loans` (a list of at most one) and the moment of
    its last event as `changed_at`; with `since` only those with an event from then on.
    """
    events = Event.objects.filter(kit=OuterRef("pk")).order_by("-number")
    open_loans = Loan.objects.filter(stage__in=OPEN_STAGES).select_related("enrolment")
    kits = Kit.objects.select_related("kit_type").prefetch_related(
        Prefetch("loans", queryset=open_loans, to_attr="open_loans")
    )
    kits = kits.annotate(changed_at=Subquery(events.values("at")[:1])).order_by("pk")
    if since is not None:
        kits = kits.filter(
            pk__in=Event.objects.filter(at__gte=since, kit__isnull=False).values("kit")
        )
    return kits


def runs_in_order(since: datetime | None = None) -> QuerySet[CourseRun]:
    """All runs, each with how many students are on it as `students`."""
    on_it = Count("enrolments", filter=Q(enrolments__withdrawn_on__isnull=True))
    runs = CourseRun.objects.select_related("kit_type").annotate(students=on_it).order_by("pk")
    return runs if since is None else runs.filter(changed_at__gte=since)


def loans_in_order(run: CourseRun) -> QuerySet[Loan]:
    """All loans of a run, those of the past too."""
    loans = Loan.objects.filter(enrolment__run=run)
    return loans.select_related("kit", "enrolment__student").order_by("pk")
