"""The packing bench: the queue, and one kit's page in whatever state the kit is."""

from __future__ import annotations

from typing import Any

from django.forms import BaseForm
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import NoReverseMatch, reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from rentals.actions.issue import open_loan
from rentals.forms.pack import CloseForm, DispatchForm, OverrideForm, TrackingForm, UndoForm
from rentals.models import Kit, Loan, LoanStage
from rentals.selectors.packing import (
    carriers_used,
    kit_for_packing,
    pack_sheet,
    packing_mail,
    parcel,
    parcels_listed,
    runs_wanting,
)
from rentals.states import KitState
from rentals.web.filters import filter_words
from rentals.web.finding import kit_or_404, page_of
from rentals.web.form_page import REFUSED
from rentals.web.request import DeskRequest

from .papers import papers_of


@require_safe
def queue(request: HttpRequest) -> HttpResponse:
    """Parcels to pack and to dispatch, the most pressing first."""
    q = filter_words(request)
    page = page_of(request, parcels_listed(q))
    today = timezone.localdate()
    context = {
        "page": page,
        "rows": [parcel(loan, today) for loan in page],
        "q": q,
        "total": parcels_listed().count(),
    }
    return render(request, "rentals/pack/queue.html", context)


@require_safe
def pack_kit(request: DeskRequest, code: str) -> HttpResponse:
    """A kit at the packing bench."""
    kit = kit_or_404(code)
    if kit.code != code:
        return HttpResponseRedirect(reverse("rentals:pack_kit", args=[kit.code]))
    return pack_page(request, kit, focus_scan=True)


def pack_page(request: DeskRequest, kit: Kit, **more: Any) -> HttpResponse:
    """The page of a kit by the stage of its loan; `more` holds a refused form or what a scan was
    understood as.
    """
    kit = kit_for_packing(kit)
    loan = open_loan(kit)
    template, context = _page_by_stage(kit, loan)
    refused = any(isinstance(value, BaseForm) and value.errors for value in more.values())
    status = REFUSED if refused else 200
    return render(request, template, {**context, **more}, status=status)


def _page_by_stage(kit: Kit, loan: Loan | None) -> tuple[str, dict[str, Any]]:
    """Template and context of a kit's page at the packing bench."""
    if kit.state == KitState.HELD or loan is None or loan.stage == LoanStage.CHECK:
        return "rentals/pack/elsewhere.html", _elsewhere(kit, loan)
    if loan.stage == LoanStage.AWAY:
        return "rentals/pack/away.html", _away(kit, loan)
    if loan.stage == LoanStage.PACKED:
        return "rentals/pack/packed.html", _packed(kit, loan)
    return "rentals/pack/kit.html", _to_pack(kit, loan)


def _to_pack(kit: Kit, loan: Loan) -> dict[str, Any]:
    context = bench_context(kit, loan)
    return {
        **context,
        "close_form": CloseForm(initial={"parcel_mass_g": context["sheet"].mass_g or None}),
        "override_form": OverrideForm(),
        **papers_of(loan, packing_list=False),
    }


def _packed(kit: Kit, loan: Loan) -> dict[str, Any]:
    carriers = carriers_used()
    usual_carrier = carriers[0] if carriers else ""
    return {
        **bench_context(kit, loan),
        "mail": packing_mail(loan),
        "carriers": carriers,
        "dispatch_form": DispatchForm.of(loan, usual_carrier),
        "unpack_form": UndoForm(prefix="unpack"),
        **papers_of(loan, packing_list=False),
    }


def _away(kit: Kit, loan: Loan) -> dict[str, Any]:
    return {
        "kit": kit,
        "loan": loan,
        "waiting": parcels_listed().exists(),
        "recall_form": UndoForm(prefix="recall"),
        "tracking_form": TrackingForm(initial={"tracking_number": loan.tracking_number}),
    }


def bench_context(kit: Kit, loan: Loan) -> dict[str, Any]:
    """What the packing list and the pages around it show of a parcel in the house."""
    loan.kit = kit
    today = timezone.localdate()
    return {
        "kit": kit,
        "loan": loan,
        "student": loan.enrolment.student,
        "run": loan.enrolment.run,
        "sheet": pack_sheet(loan, today),
        "parcel": parcel(loan, today),
        "bench_url": bench_url(kit),
    }


def bench_url(kit: Kit) -> str:
    """Where the kit is tested; empty while there is no bench."""
    try:
        return reverse("readiness:kit_bench", args=[kit.code])
    except NoReverseMatch:
        return ""


def _elsewhere(kit: Kit, loan: Loan | None) -> dict[str, Any]:
    """One sentence on a kit that is not at the packing bench, and its next step."""
    context: dict[str, Any] = {"kit": kit, "loan": loan, "bench_url": bench_url(kit), "runs": []}
    name = loan.enrolment.student.name if loan else ""
    match kit.state:
        case KitState.HELD:
            step = (
                "rentals:kit_release",
                "Release it",
                f"Kit {kit.code} is held: {kit.hold_reason}",
            )
        case KitState.CHECK:
            step = (
                "rentals:receive_kit",
                "Check it",
                f"Kit {kit.code} is back from {name} and not checked yet.",
            )
        case KitState.RETIRED:
            step = (
                "rentals:kit",
                "See the kit",
                f"Kit {kit.code} is retired and does not go out any more.",
            )
        case _ if kit.cleared:
            step = (
                "",
                "",
                f"Kit {kit.code} is on the shelf, cleared, and not assigned to anybody.",
            )
        case _:
            where = "waits for the bench" if kit.state == KitState.BENCH else "is on the shelf"
            step = (
                "bench",
                "Go to the bench",
                f"Kit {kit.code} {where}, is not cleared, and is assigned to nobody.",
            )
    if not loan and kit.state in (KitState.SHELF, KitState.BENCH):
        context["runs"] = runs_wanting(kit.kit_type)
    route, act, sentence = step
    target = (
        context["bench_url"]
        if route == "bench"
        else reverse(route, args=[kit.code])
        if route
        else ""
    )
    return {**context, "sentence": sentence, "act": act, "target": target}
