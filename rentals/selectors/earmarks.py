"""Kits set aside for students: who gets which, on every page that shows it."""

from __future__ import annotations

from django.db.models import OuterRef, QuerySet, Subquery

from rentals.models import CourseRun, Earmark


def earmarks() -> QuerySet[Earmark]:
    """Earmarks with kit, student and run, the first to be posted first."""
    rows = Earmark.objects.select_related("kit", "enrolment__student", "enrolment__run")
    return rows.order_by("enrolment__run__post_by", "pk")


def kit_set_aside() -> Subquery:
    """For enrolments: the code of the kit that is set aside for each; NULL for none."""
    return Subquery(Earmark.objects.filter(enrolment=OuterRef("pk")).values("kit__code")[:1])


def set_aside_for(run: CourseRun) -> Subquery:
    """For kits: the student each is set aside for on days that overlap with those of a run, the
    last to be posted of several; NULL for nobody.
    """
    rows = Earmark.objects.filter(
        kit=OuterRef("pk"),
        enrolment__withdrawn_on__isnull=True,
        enrolment__run__post_by__lte=run.return_by,
        enrolment__run__return_by__gte=run.post_by,
    )
    last = rows.order_by("-enrolment__run__post_by", "-pk")
    return Subquery(last.values("enrolment__student__name")[:1])
