"""Dispatching ticked parcels of a run at once, each with its own tracking number."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404

from rentals.actions.dispatch import dispatch
from rentals.counts import counted
from rentals.forms.pack import RunDispatchForm
from rentals.models import CourseRun, Loan, LoanStage
from rentals.selectors.carriers import carriers_offered
from rentals.web.form_page import form_page
from rentals.web.request import DeskRequest, get_or_post, posted
from rentals.web.ticked import ticked_rows, with_ticks

from .chosen import done_with_each, none_fits


@get_or_post
def dispatch_chosen(request: DeskRequest, pk: int) -> HttpResponse:
    """The ticked parcels that are packed leave the house; the others are named with their
    state.
    """
    run = get_object_or_404(CourseRun, pk=pk)
    loans = Loan.objects.filter(enrolment__run=run, enrolment__in=ticked_rows(request, "enrolment"))
    loans = loans.exclude(stage=LoanStage.CANCELLED).select_related("kit", "enrolment__student")
    chosen = list(loans.order_by("kit__code", "pk"))
    packed = [loan for loan in chosen if loan.stage == LoanStage.PACKED]
    if not packed:
        stay = [f"{loan.enrolment.student.name}, {loan.get_stage_display()}" for loan in chosen]
        ticked = ticked_rows(request, "enrolment")
        back = with_ticks(run.get_absolute_url(), ticked)
        return none_fits(request, "No packed parcel was ticked. Pack first", stay, back)
    carriers = carriers_offered()
    form = RunDispatchForm(posted(request), loans=packed, carriers=carriers)
    home = run.get_absolute_url()
    context = {
        "run": run,
        "rows": [(loan, form[form.name_of(loan)]) for loan in packed],
        "stay": [loan for loan in chosen if loan not in packed],
        "carriers": carriers,
        "count": counted(len(packed), "parcel", "parcels"),
    }

    def send(data: dict[str, Any]) -> str:
        return done_with_each(
            request,
            packed,
            lambda loan: dispatch(
                loan.kit,
                tracking_number=data[form.name_of(loan)],
                carrier=data["carrier"] or loan.carrier,
                actor=request.user,
            ),
            lambda done: f"On the way: {counted(done, 'parcel', 'parcels')}.",
            home,
        )

    return form_page(
        request,
        form,
        "rentals/run/dispatch.html",
        act="dispatch parcels of a run",
        do=send,
        then=str,
        context=context,
    )
