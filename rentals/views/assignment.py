"""Assigning kits to all students of a run who have none."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from rentals.actions.runs import assign_all
from rentals.forms.runs import AssignForm
from rentals.models import CourseRun, Loan
from rentals.planning.assignment import propose
from rentals.selectors.runs import enrolments_without_kit, free_kits
from rentals.web.acting import carry_out
from rentals.web.finding import page_of

#: Codes offered while typing; a fleet may have thousands of kits, a list on the page should not.
_OFFERED = 120


def _assigned(loans: list[Loan]) -> str:
    said = f"{len(loans)} kit{'' if len(loans) == 1 else 's'} assigned"
    uncleared = sum(not loan.kit.cleared for loan in loans)
    return (
        f"{said}; {uncleared} of them must pass the bench before packing."
        if uncleared
        else f"{said}."
    )


@require_http_methods(["GET", "HEAD", "POST"])
def run_assign(request: HttpRequest, pk: int) -> HttpResponse:
    """A kit proposed for each student without one; all are assigned in one go, each can be
    changed.
    """
    run = get_object_or_404(CourseRun.objects.select_related("kit_type"), pk=pk)
    page = page_of(request, enrolments_without_kit(run))
    kits = free_kits(run)
    proposals = propose([enrolment.pk for enrolment in page], kits)
    posted = request.method == "POST"
    form = AssignForm(request.POST if posted else None, enrolments=page, proposals=proposals)
    if posted and form.is_valid():

        def do() -> str:
            loans = assign_all(form.pairs, actor=request.user)
            messages.success(request, _assigned(loans))
            more = (
                len(form.pairs)
                and enrolments_without_kit(run).exists()
                and len(kits) > len(form.pairs)
            )
            return reverse("rentals:run_assign", args=[run.pk]) if more else run.get_absolute_url()

        answer = carry_out(request, "assign kits", do, form=form)
        if answer is not None:
            return answer
    by_code = {kit.code: kit for kit in kits}
    rows = [
        (
            p,
            form.enrolments[f"kit_{p.who}"],
            form[f"kit_{p.who}"],
            by_code.get(form[f"kit_{p.who}"].value() or ""),
        )
        for p in proposals
    ]
    context = {
        "run": run,
        "page": page,
        "form": form,
        "rows": rows,
        "offered": kits[:_OFFERED],
        "free": len(kits),
        "cleared": sum(kit.cleared for kit in kits),
        "proposed": sum(p.kit is not None for p in proposals),
    }
    return render(request, "rentals/run/assign.html", context)
