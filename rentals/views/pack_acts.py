"""What is done at the packing bench: tick, scan, override, pack, unpack, dispatch, and taking that
back.
"""

from __future__ import annotations

import functools
from collections.abc import Callable

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.cache import patch_vary_headers
from django_htmx.http import HttpResponseClientRedirect

from rentals.actions.dispatch import correct_tracking, dispatch, recall
from rentals.actions.draft import draft_on_request
from rentals.actions.issue import open_loan, override_gate
from rentals.actions.pack import Scanned, pack, scan_part, tick, unpack
from rentals.forms.pack import CloseForm, DispatchForm, OverrideForm, ReasonForm, TrackingForm
from rentals.models import Kit, LoanStage, Message, PackingLine
from rentals.selectors.packing import kit_for_packing
from rentals.web.acting import carry_out
from rentals.web.finding import kit_or_404

from .pack import bench_context, pack_page


class ScanForm(forms.Form):
    """What the scanner typed; its errors say whose a wrong part is."""

    scan = forms.CharField(
        label="Part", max_length=2000, error_messages={"required": "Nothing was scanned."}
    )


def _address(kit: Kit) -> str:
    return reverse("rentals:pack_kit", args=[kit.code])


def at_the_bench(
    act: Callable[[HttpRequest, str], HttpResponse],
) -> Callable[[HttpRequest, str], HttpResponse]:
    """An act is only posted; its address opened (a reload, the way back from a sign-in) leads to
    the kit's page.
    """

    @functools.wraps(act)
    def answer(request: HttpRequest, code: str) -> HttpResponse:
        if request.method != "POST":
            return HttpResponseRedirect(reverse("rentals:pack_kit", args=[code]))
        return act(request, code)

    return answer


def _changed(
    request: HttpRequest, kit: Kit, line: PackingLine | None, **more: object
) -> HttpResponse | None:
    """What a press or a scan changed, for a request that asked for just that; None where the whole
    page is wanted.
    """
    loan = open_loan(kit)
    if not request.htmx:
        return None
    if loan is None or loan.stage != LoanStage.ASSIGNED:
        return HttpResponseClientRedirect(_address(kit))
    fresh = PackingLine.objects.select_related("stock_item").get(pk=line.pk) if line else None
    context = {**bench_context(kit_for_packing(kit), loan), "line": fresh, **more}
    answer = render(request, "rentals/pack/_ticked.html", context)
    patch_vary_headers(answer, ["HX-Request"])
    return answer


@at_the_bench
def pack_tick(request: HttpRequest, code: str) -> HttpResponse:
    """A row was pressed: ``tick`` or ``untick`` names its line, so that pressing twice by mistake
    changes nothing.
    """
    kit = kit_or_404(code)
    on = "tick" in request.POST
    number = request.POST.get("tick") or request.POST.get("untick") or ""
    pk = int(number) if number.isdecimal() and len(number) < 18 else 0
    line = PackingLine.objects.filter(pk=pk, loan__kit=kit).first()
    if line is None:
        messages.warning(
            request,
            "The packing list has changed since this page was opened; this is the list now.",
        )
        return (
            HttpResponseClientRedirect(_address(kit))
            if request.htmx
            else HttpResponseRedirect(_address(kit))
        )

    def do() -> str:
        tick(line, on=on)
        return f"{_address(kit)}#line-{line.pk}"

    answer = carry_out(request, "tick a line", do)
    return _changed(request, kit, line) or answer or HttpResponseRedirect(_address(kit))


def _lines(kit: Kit) -> list[int]:
    return list(
        PackingLine.objects.filter(loan__kit=kit, loan__stage=LoanStage.ASSIGNED).values_list(
            "pk", flat=True
        )
    )


@at_the_bench
def pack_scan(request: HttpRequest, code: str) -> HttpResponse:
    """A part was scanned: its line is ticked, or it is said whose it is."""
    kit = kit_or_404(code)
    form = ScanForm(request.POST)
    before = _lines(kit)
    found: list[Scanned] = []

    def do() -> str:
        found.append(scan_part(kit, form.cleaned_data["scan"]))
        if not request.htmx:
            messages.success(request, found[0].text)
        return _address(kit)

    answer = carry_out(request, "scan a part", do, form=form) if form.is_valid() else None
    if request.htmx and _lines(kit) != before:
        # Parts were swapped since the page was opened, and the list was drawn up anew: the rows
        # shown are gone.
        return HttpResponseClientRedirect(_address(kit))
    more = {"scan_said": found[0].text if found else "", "scan_form": form, "scanned": True}
    line = found[0].line if found else None
    return (
        _changed(request, kit, line, **more)
        or answer
        or pack_page(request, kit, focus_scan=True, **more)
    )


def _act(
    request: HttpRequest,
    kit: Kit,
    name: str,
    form: forms.Form,
    form_name: str,
    do: Callable[[], str],
) -> HttpResponse:
    """One act with its form; refused, the page comes back with the form as typed."""
    answer = carry_out(request, name, do, form=form) if form.is_valid() else None
    return answer or pack_page(request, kit, **{form_name: form, "refused_form": form})


@at_the_bench
def pack_close(request: HttpRequest, code: str) -> HttpResponse:
    """Packs the kit."""
    kit, form = kit_or_404(code), CloseForm(request.POST)

    def do() -> str:
        pack(kit, parcel_mass_g=form.cleaned_data["parcel_mass_g"], actor=request.user)
        return _address(kit)

    return _act(request, kit, "pack", form, "close_form", do)


@at_the_bench
def pack_override(request: HttpRequest, code: str) -> HttpResponse:
    """Lets a kit go out that is not cleared, on the owner's written reason."""
    kit, form = kit_or_404(code), OverrideForm(request.POST)

    def do() -> str:
        override_gate(kit, reason=form.cleaned_data["reason"], actor=request.user)
        return _address(kit)

    return _act(request, kit, "override", form, "override_form", do)


@at_the_bench
def pack_unpack(request: HttpRequest, code: str) -> HttpResponse:
    """Opens a packed parcel again."""
    kit, form = kit_or_404(code), ReasonForm(request.POST, prefix="unpack")

    def do() -> str:
        unpack(kit, reason=form.cleaned_data["reason"], actor=request.user)
        messages.success(request, f"Kit {kit.code} is unpacked; stock is back on the shelf.")
        return _address(kit)

    return _act(request, kit, "unpack", form, "unpack_form", do)


@at_the_bench
def pack_mail(request: HttpRequest, code: str) -> HttpResponse:
    """Drafts the mail with the packing list, where none is drafted by itself or it was
    discarded.
    """
    kit = kit_or_404(code)
    loan = open_loan(kit)
    if loan is None or loan.stage not in (LoanStage.PACKED, LoanStage.AWAY):
        messages.error(
            request, f"Kit {kit.code} is not packed, so there is no packing list to send."
        )
        return HttpResponseRedirect(_address(kit))

    def do() -> str:
        draft = draft_on_request(Message.Occasion.PACKING_LIST, loan, actor=request.user)
        return draft.get_absolute_url()

    return carry_out(request, "draft the packing mail", do) or HttpResponseRedirect(_address(kit))


@at_the_bench
def pack_dispatch(request: HttpRequest, code: str) -> HttpResponse:
    """Hands the parcel over."""
    kit, form = kit_or_404(code), DispatchForm(request.POST)

    def do() -> str:
        dispatch(kit, actor=request.user, **form.cleaned_data)
        messages.success(request, f"Kit {kit.code} is on its way.")
        return _address(kit)

    return _act(request, kit, "dispatch", form, "dispatch_form", do)


@at_the_bench
def pack_recall(request: HttpRequest, code: str) -> HttpResponse:
    """Takes a dispatch back that did not happen."""
    kit, form = kit_or_404(code), ReasonForm(request.POST, prefix="recall")

    def do() -> str:
        recall(kit, reason=form.cleaned_data["reason"], actor=request.user)
        messages.success(request, f"Kit {kit.code} is packed and still here.")
        return _address(kit)

    return _act(request, kit, "recall", form, "recall_form", do)


@at_the_bench
def pack_tracking(request: HttpRequest, code: str) -> HttpResponse:
    """Mends the tracking number of a parcel under way."""
    kit, form = kit_or_404(code), TrackingForm(request.POST)
    loan = open_loan(kit)

    def do() -> str:
        if loan is not None:
            correct_tracking(loan, form.cleaned_data["tracking_number"], actor=request.user)
        return _address(kit)

    return _act(request, kit, "tracking number", form, "tracking_form", do)
