"""The packing bench: the queue, and one kit's page in whatever state the kit is."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.forms import BaseForm
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from rentals.forms.pack import (
    CloseForm,
    DispatchForm,
    OverrideForm,
    ShortDatedForm,
    TrackingForm,
    UndoForm,
)
from rentals.models import Kit, Loan, Practice
from rentals.next_acts import (
    DISPATCH,
    GO_TO_BENCH,
    PACK,
    PackingPage,
    may_unassign,
    packing_page,
)
from rentals.selectors.carriers import carriers_offered, tracking_url
from rentals.selectors.cells import cells_in_words
from rentals.selectors.elsewhere import kit_elsewhere
from rentals.selectors.losses import deposit_in_words
from rentals.selectors.next_steps import button, kit_step, message_button
from rentals.selectors.open_loan import open_loan
from rentals.selectors.packing import (
    count_to_post,
    kit_for_packing,
    loans_of_parcels,
    pack_sheet,
    packing_mail,
    parcel,
    parcels_listed,
    posting_mails,
)
from rentals.states import KitState, LoanStage
from rentals.web.filters import list_filter
from rentals.web.finding import kit_or_404, page_of
from rentals.web.page_or_part import page_again
from rentals.web.request import DeskRequest

from .papers import papers_of

#: Pages of the bench from which papers are printed.
WITH_PAPERS = ("rentals/pack/kit.html", "rentals/pack/packed.html")


@require_safe
def queue(request: HttpRequest) -> HttpResponse:
    """Parcels to pack and to dispatch, the most pressing first."""
    wanted = list_filter(request)
    page = page_of(request, parcels_listed(wanted.words), rows_of=loans_of_parcels)
    today = timezone.localdate()
    context = {
        "page": page,
        "rows": [parcel(loan, today) for loan in page],
        **wanted.context(),
        "total": count_to_post() if wanted.words else page.paginator.count,
    }
    return render(request, "rentals/pack/queue.html", context)


@require_safe
def pack_kit(request: DeskRequest, code: str) -> HttpResponse:
    """A kit at the packing bench."""
    kit = kit_or_404(code)
    if kit.code != code:
        return HttpResponseRedirect(reverse("rentals:pack_kit", args=[kit.code]))
    # Just closed, it opens the packing list where Setup says so.
    print_now = request.GET.get("closed") == "1" and Practice.current().opens_packing_list
    return pack_page(request, kit, print_now=print_now)


def pack_page(request: DeskRequest, kit: Kit, **extra: Any) -> HttpResponse:
    """The page of a kit by its state; `extra` holds a refused form or what a scan was
    understood as.
    """
    kit = kit_for_packing(kit)
    loan = open_loan(kit)
    template, context = _page_of(kit, loan)
    if loan is not None and template in WITH_PAPERS:
        context = {**context, **papers_of(request, loan, packing_list=False)}
    refused = any(isinstance(value, BaseForm) and value.errors for value in extra.values())
    return page_again(request, template, {**context, **extra}, refused=refused)


def _page_of(kit: Kit, loan: Loan | None) -> tuple[str, dict[str, Any]]:
    """Template and context of a kit's page at the packing bench."""
    page = packing_page(KitState(kit.state))
    if loan is None or page is PackingPage.ELSEWHERE:
        elsewhere = vars(kit_elsewhere(kit, loan))
        return "rentals/pack/elsewhere.html", {"kit": kit, "loan": loan, **elsewhere}
    template, context_of = _PAGES[page]
    return template, context_of(kit, loan)


def _to_pack(kit: Kit, loan: Loan) -> dict[str, Any]:
    context = _bench_context(kit, loan)
    sheet = context["sheet"]
    is_complete = 0 < sheet.total == sheet.done
    carriers = carriers_offered()
    usual_carrier = carriers[0] if carriers else ""
    return {
        **context,
        "act": PACK.act,
        "focus_scan": not is_complete,
        "carriers": carriers,
        "close_form": CloseForm.of(sheet.mass_g, usual_carrier, is_complete=is_complete),
        "override_form": OverrideForm(),
        "short_dated_form": ShortDatedForm(prefix="dated"),
    }


def _packed(kit: Kit, loan: Loan) -> dict[str, Any]:
    carriers = carriers_offered()
    mail = packing_mail(loan)
    usual_carrier = carriers[0] if carriers else ""
    return {
        **_bench_context(kit, loan),
        "act": DISPATCH.act,
        "mail": mail,
        "mail_step": message_button(mail) if mail else None,
        "carriers": carriers,
        "dispatch_form": DispatchForm.of(loan, usual_carrier),
        "unpack_form": UndoForm(prefix="unpack"),
    }


def _away(kit: Kit, loan: Loan) -> dict[str, Any]:
    return {
        "kit": kit,
        "loan": loan,
        "mails": posting_mails(loan),
        "tracking_url": tracking_url(loan),
        "waiting": count_to_post() > 0,
        "receive": button(kit_step(kit).there, kit=kit),
        "recall_form": UndoForm(prefix="recall"),
        "tracking_form": TrackingForm.of(loan),
    }


def _bench_context(kit: Kit, loan: Loan) -> dict[str, Any]:
    """What the packing list and the pages around it show of a parcel in the house."""
    loan.kit = kit
    today = timezone.localdate()
    return {
        "kit": kit,
        "loan": loan,
        "student": loan.enrolment.student,
        "run": loan.enrolment.run,
        "sheet": pack_sheet(loan, today),
        "deposit_lacks": deposit_in_words(loan),
        "cells": cells_in_words(loan, today),
        "parcel": parcel(loan, today),
        "bench": button(GO_TO_BENCH, kit=kit),
        "can_unassign": may_unassign(LoanStage(loan.stage)),
    }


_PAGES: dict[PackingPage, tuple[str, Callable[[Kit, Loan], dict[str, Any]]]] = {
    PackingPage.TO_PACK: ("rentals/pack/kit.html", _to_pack),
    PackingPage.PACKED: ("rentals/pack/packed.html", _packed),
    PackingPage.AWAY: ("rentals/pack/away.html", _away),
}
