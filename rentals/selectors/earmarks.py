"""Kits set aside for students: who gets which, on every page that shows it."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import QuerySet

from rentals.models import CourseRun, Earmark


def earmarks() -> QuerySet[Earmark]:
    """Earmarks with kit, student and run, the first to be posted first."""
    rows = Earmark.objects.select_related("kit", "enrolment__student", "enrolment__run")
    return rows.order_by("enrolment__run__post_by", "pk")


def kits_set_aside(enrolments: Iterable[int]) -> dict[int, str]:
    """The code of the kit that is set aside for each of these enrolments."""
    rows = Earmark.objects.filter(enrolment__in=list(enrolments))
    return dict(rows.values_list("enrolment", "kit__code"))


def set_aside_elsewhere(run: CourseRun) -> dict[int, str]:
    """Kits set aside for days that overlap with those of a run, each with the student's name."""
    rows = Earmark.objects.filter(
        kit__kit_type=run.kit_type_id,
        enrolment__withdrawn_on__isnull=True,
        enrolment__run__post_by__lte=run.return_by,
        enrolment__run__return_by__gte=run.post_by,
    )
    return dict(rows.values_list("kit", "enrolment__student__name"))
