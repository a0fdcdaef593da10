"""What is done at the packing bench: tick, scan, close, override, unpack, dispatch, and taking that
back.

Each act is posted from the kit's page and leads back to it; refused, the page comes back with the
form as it was typed.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse

from rentals.actions.dispatch import correct_tracking, dispatch, recall
from rentals.actions.draft import draft_on_request
from rentals.actions.issue import open_loan, override_gate
from rentals.actions.pack import pack, scan_part, tick, unpack
from rentals.forms.pack import (
    CloseForm,
    DispatchForm,
    OverrideForm,
    ScanForm,
    TrackingForm,
    UndoForm,
)
from rentals.models import Kit, LoanStage, Message, PackingLine
from rentals.selectors.packing import kit_for_packing
from rentals.web.acting import carry_out, post_or_go_to, press_button, result_or_refusal
from rentals.web.finding import kit_or_404
from rentals.web.page_or_part import go_to, vary_by_htmx, wants_part
from rentals.web.request import DeskRequest

from .pack import bench_context, pack_page

posted_at_the_bench = post_or_go_to("rentals:pack_kit")


def _home(kit: Kit) -> str:
    return reverse("rentals:pack_kit", args=[kit.code])


@posted_at_the_bench
def pack_scan(request: DeskRequest, code: str) -> HttpResponse:
    """A part was scanned: its line is ticked, or it is said whose it is."""
    kit = kit_or_404(code)
    form = ScanForm(request.POST)
    scan = result_or_refusal(lambda: scan_part(kit, form.cleaned_data["scan"]), form)
    understood = {"scan_said": scan.text if scan else "", "scan_form": form}
    if wants_part(request):
        line = scan.line if scan else None
        return _what_changed(request, kit, line, scanned=True, **understood)
    if scan is None:
        return pack_page(request, kit, focus_scan=True, **understood)
    messages.success(request, scan.text)
    return go_to(request, _home(kit))


@posted_at_the_bench
def pack_tick(request: DeskRequest, code: str) -> HttpResponse:
    """A row was pressed: ``tick`` or ``untick`` names its line, so that pressing twice by mistake
    changes nothing.
    """
    kit = kit_or_404(code)
    line = _pressed_line(request, kit)
    if line is None:
        changed = "The packing list has changed since this page was opened; this is the list now."
        messages.warning(request, changed)
        return go_to(request, _home(kit))
    on = "tick" in request.POST
    there = f"{_home(kit)}#line-{line.pk}"
    answer = press_button(
        request, "tick a line", lambda: tick(line, on=on), home=_home(kit), then=there
    )
    return _what_changed(request, kit, line) if wants_part(request) else answer


def _pressed_line(request: DeskRequest, kit: Kit) -> PackingLine | None:
    number = request.POST.get("tick") or request.POST.get("untick") or ""
    if not number.isdecimal() or len(number) >= 18:
        return None
    return PackingLine.objects.filter(pk=int(number), loan__kit=kit).first()


def _what_changed(
    request: DeskRequest, kit: Kit, line: PackingLine | None, **understood: Any
) -> HttpResponse:
    """The parts of an open page that a press or a scan changed."""
    loan = open_loan(kit)
    if loan is None or loan.stage != LoanStage.ASSIGNED:
        return go_to(request, _home(kit))
    fresh = PackingLine.objects.select_related("stock_item").get(pk=line.pk) if line else None
    context = {**bench_context(kit_for_packing(kit), loan), "line": fresh, **understood}
    edition = str(context["sheet"].edition)
    if request.POST.get("edition", edition) != edition:
        # Parts were swapped since the page was opened and the list was drawn up anew: the rows
        # shown are gone.
        return go_to(request, _home(kit))
    return vary_by_htmx(render(request, "rentals/pack/_ticked.html", context))


def _act(
    request: DeskRequest,
    kit: Kit,
    act: str,
    do: Callable[[dict[str, Any]], Any],
    *,
    success: str = "",
    **named_form: forms.Form,
) -> HttpResponse:
    """Carry out one act with its form, given under the name that the kit's page knows it by."""
    [form] = named_form.values()
    answer = carry_out(
        request, act, lambda: do(form.cleaned_data), then=_home(kit), success=success, form=form
    )
    return answer or pack_page(request, kit, refused_form=form, **named_form)


@posted_at_the_bench
def pack_close(request: DeskRequest, code: str) -> HttpResponse:
    """Packs the kit."""
    kit = kit_or_404(code)
    return _act(
        request,
        kit,
        "pack",
        lambda data: pack(kit, parcel_mass_g=data["parcel_mass_g"], actor=request.user),
        close_form=CloseForm(request.POST),
    )


@posted_at_the_bench
def pack_override(request: DeskRequest, code: str) -> HttpResponse:
    """Lets a kit go out that is not cleared, on the owner's written reason."""
    kit = kit_or_404(code)
    return _act(
        request,
        kit,
        "override",
        lambda data: override_gate(kit, reason=data["reason"], actor=request.user),
        override_form=OverrideForm(request.POST),
    )


@posted_at_the_bench
def pack_unpack(request: DeskRequest, code: str) -> HttpResponse:
    """Opens a packed parcel again."""
    kit = kit_or_404(code)
    return _act(
        request,
        kit,
        "unpack",
        lambda data: unpack(kit, reason=data["reason"], actor=request.user),
        success=f"Kit {kit.code} is unpacked; stock is back on the shelf.",
        unpack_form=UndoForm(request.POST, prefix="unpack"),
    )


@posted_at_the_bench
def pack_mail(request: DeskRequest, code: str) -> HttpResponse:
    """Drafts the mail with the packing list, where none is drafted by itself or it was
    discarded.
    """
    kit = kit_or_404(code)
    loan = open_loan(kit)
    if loan is None or loan.stage not in (LoanStage.PACKED, LoanStage.AWAY):
        nothing = f"Kit {kit.code} is not packed, so there is no packing list to send."
        messages.error(request, nothing)
        return go_to(request, _home(kit))
    return press_button(
        request,
        "draft the packing mail",
        lambda: draft_on_request(Message.Occasion.PACKING_LIST, loan, actor=request.user),
        home=_home(kit),
        then=Message.get_absolute_url,
    )


@posted_at_the_bench
def pack_dispatch(request: DeskRequest, code: str) -> HttpResponse:
    """Hands the parcel over."""
    kit = kit_or_404(code)
    return _act(
        request,
        kit,
        "dispatch",
        lambda data: dispatch(kit, actor=request.user, **data),
        success=f"Kit {kit.code} is on its way.",
        dispatch_form=DispatchForm(request.POST),
    )


@posted_at_the_bench
def pack_recall(request: DeskRequest, code: str) -> HttpResponse:
    """Takes a dispatch back that did not happen."""
    kit = kit_or_404(code)
    return _act(
        request,
        kit,
        "recall",
        lambda data: recall(kit, reason=data["reason"], actor=request.user),
        success=f"Kit {kit.code} is packed and still here.",
        recall_form=UndoForm(request.POST, prefix="recall"),
    )


@posted_at_the_bench
def pack_tracking(request: DeskRequest, code: str) -> HttpResponse:
    """Mends the tracking number of a parcel under way."""
    kit = kit_or_404(code)
    loan = open_loan(kit)
    return _act(
        request,
        kit,
        "tracking number",
        lambda data: (
            correct_tracking(loan, data["tracking_number"], actor=request.user) if loan else None
        ),
        tracking_form=TrackingForm(request.POST),
    )
