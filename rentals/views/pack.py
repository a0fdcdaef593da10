"""The packing bench: the queue, and one kit's page in whatever state the kit is."""

from __future__ import annotations

from typing import Any

from django.forms import BaseForm
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from rentals.actions.issue import open_loan
from rentals.forms.pack import CloseForm, DispatchForm, OverrideForm, TrackingForm, UndoForm
from rentals.lifecycle import Verb, may
from rentals.models import Kit, Loan, LoanStage
from rentals.next_acts import kit_act, not_to_pack
from rentals.selectors.next_steps import (
    bench_address,
    button,
    kit_situation,
    kit_step,
    message_button,
)
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


def pack_page(request: DeskRequest, kit: Kit, **extra: Any) -> HttpResponse:
    """The page of a kit by the stage of its loan; `extra` holds a refused form or what a scan was
    understood as.
    """
    kit = kit_for_packing(kit)
    loan = open_loan(kit)
    template, context = _page_by_stage(kit, loan)
    refused = any(isinstance(value, BaseForm) and value.errors for value in extra.values())
    status = REFUSED if refused else 200
    return render(request, template, {**context, **extra}, status=status)


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
    mail = packing_mail(loan)
    usual_carrier = carriers[0] if carriers else ""
    return {
        **bench_context(kit, loan),
        "mail": mail,
        "mail_step": message_button(mail) if mail else None,
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
        "receive": button(kit_step(kit).there, kit=kit),
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
        "bench_url": bench_address(kit.code),
        "can_unassign": loan.stage == LoanStage.ASSIGNED,
    }


def _elsewhere(kit: Kit, loan: Loan | None) -> dict[str, Any]:
    """One sentence on a kit that is not at the packing bench, and its next step."""
    state = KitState(kit.state)
    situation = kit_situation(kit, loan)
    step = kit_act(situation)
    retired, held = state is KitState.RETIRED, state is KitState.HELD
    way = step.there if retired else step.here
    waits = not loan and may(Verb.ASSIGNED, state)
    return {
        "kit": kit,
        "loan": loan,
        "sentence": not_to_pack(situation),
        "next": button(way, kit=kit) if way else None,
        "runs": runs_wanting(kit.kit_type) if waits else [],
        "waits": waits,
        "refusal": "" if retired or kit.cleared else kit.not_cleared_reason,
        "held_for": loan if held else None,
    }
