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
from django.contrib.auth.models import User
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from rentals.actions.close import close_parcel
from rentals.actions.dispatch import correct_tracking, dispatch, recall
from rentals.actions.draft import draft_on_request
from rentals.actions.issue import override_gate
from rentals.actions.pack import scan_part, tick, tick_counted, unpack
from rentals.actions.short_dated import allow_short_dated
from rentals.codes import grouped
from rentals.forms.pack import (
    CloseForm,
    DispatchForm,
    OverrideForm,
    ScanForm,
    ShortDatedForm,
    TrackingForm,
    UndoForm,
)
from rentals.models import Kit, Loan, Message, PackingLine
from rentals.next_acts import PackingPage, may_send_packing_list, packing_page
from rentals.row_numbers import row_number
from rentals.selectors.next_steps import scan_address
from rentals.selectors.open_loan import open_loan
from rentals.selectors.packing import open_lines_of, packing_progress, row_of
from rentals.selectors.part_scan import other_kit_on_label
from rentals.states import KitState, LoanStage
from rentals.web.acting import carry_out, post_or_go_to, press_button, result_or_refusal
from rentals.web.finding import code_or_404, kit_or_404
from rentals.web.page_or_part import go_to, vary_by_htmx, wants_part
from rentals.web.photo_scan import takes_photo
from rentals.web.request import DeskRequest
from rentals.web.scan_outcome import scan_answer

from .pack import pack_page

posted_at_the_bench = post_or_go_to("rentals:pack_kit")


def _home(code: str) -> str:
    return reverse("rentals:pack_kit", args=[code])


@posted_at_the_bench
@takes_photo("rentals:pack_kit")
def pack_scan(request: DeskRequest, code: str) -> HttpResponse:
    """A part was scanned: its line is ticked, or it is said whose it is."""
    kit = kit_or_404(code)
    form = ScanForm(request.POST)
    other_kit = other_kit_on_label(request.POST.get("scan", ""), kit)
    if other_kit is not None:
        messages.info(request, _turned_to(other_kit, kit))
        return scan_answer(go_to(request, scan_address(other_kit)), accepted=True)
    scan = result_or_refusal(lambda: scan_part(kit, form.cleaned_data["scan"]), form)
    understood = {"scan_said": scan.text if scan else "", "scan_form": form}
    if wants_part(request):
        line = scan.line if scan else None
        if scan is None and not _is_at_the_bench(kit):
            refusals = form.errors.get("scan", form.non_field_errors())
            messages.error(request, " ".join(map(str, refusals)))
        answer = _what_changed(request, kit, line, scanned=True, **understood)
    elif scan is None:
        answer = pack_page(request, kit, focus_scan=True, **understood)
    else:
        messages.success(request, scan.text)
        answer = go_to(request, _home(kit.code))
    return scan_answer(answer, accepted=scan is not None)


def _turned_to(scanned: Kit, kit: Kit) -> str:
    word = scanned.get_state_display()
    return f"Kit {grouped(scanned.code)}, {word}. Kit {grouped(kit.code)} stays as it was."


@posted_at_the_bench
def pack_tick(request: DeskRequest, code: str) -> HttpResponse:
    """A row was pressed: ``tick`` or ``untick`` names its line, so that pressing twice by mistake
    changes nothing.
    """
    kit = kit_or_404(code)
    line = _pressed_line(request, kit)
    if line is None:
        messages.warning(request, _what_became_of_the_list(kit))
        return go_to(request, _home(kit.code))
    on = "tick" in request.POST
    line_address = f"{_home(kit.code)}#line-{line.pk}"
    answer = press_button(
        request, "tick a line", lambda: tick(line, on=on), home=_home(kit.code), then=line_address
    )
    return _what_changed(request, kit, line) if wants_part(request) else answer


def _is_at_the_bench(kit: Kit) -> bool:
    return packing_page(KitState(kit.state)) is PackingPage.TO_PACK


def _what_became_of_the_list(kit: Kit) -> str:
    """Why a row of an open page is gone, in a sentence."""
    if _is_at_the_bench(kit):
        return "The packing list has changed since this page was opened; this is the list now."
    return f"Kit {kit.code} was taken from its student since this page was opened. Put it back."


def _pressed_line(request: DeskRequest, kit: Kit) -> PackingLine | None:
    pressed = request.POST.get("tick") or request.POST.get("untick") or ""
    number = row_number(pressed)
    if number is None:
        return None
    return PackingLine.objects.filter(pk=number, loan__kit=kit).first()


def _what_changed(
    request: DeskRequest, kit: Kit, line: PackingLine | None, **understood: Any
) -> HttpResponse:
    """The parts of an open page that a press or a scan changed."""
    lines = open_lines_of(kit)
    progress = packing_progress(lines, timezone.localdate())
    edition = str(progress.edition)
    if request.POST.get("edition", edition) != edition or not _is_at_the_bench(kit):
        # Since the page was opened the list was drawn up anew or frozen, or the kit held or taken.
        return go_to(request, _home(kit.code))
    row = next((row_of(fresh, progress.short) for fresh in lines if fresh == line), None)
    context = {"kit": kit, "sheet": progress, "row": row, **understood}
    return vary_by_htmx(render(request, "rentals/pack/_ticked.html", context))


def _act(
    request: DeskRequest,
    code: str,
    act: str,
    do: Callable[..., Any],
    *,
    success: str = "",
    **named_form: forms.Form,
) -> HttpResponse:
    """Carry out one act on a kit with its form, given under the name that the kit's page knows it
    by.
    """
    [form] = named_form.values()
    answer = carry_out(
        request,
        act,
        lambda: do(code, **form.cleaned_data, actor=request.user),
        then=_home(code),
        success=success,
        form=form,
    )
    return answer or pack_page(request, kit_or_404(code), refused_form=form, **named_form)


@posted_at_the_bench
def pack_close(request: DeskRequest, code: str) -> HttpResponse:
    """Packs the kit and, with a tracking number or where it is posted, sends it on its way."""
    code = code_or_404(code)
    form = CloseForm(request.POST)
    answer = carry_out(
        request,
        "pack",
        lambda: close_parcel(code, **form.cleaned_data, actor=request.user),
        then=f"{_home(code)}?closed=1",
        success=_closed,
        form=form,
    )
    return answer or pack_page(request, kit_or_404(code), refused_form=form, close_form=form)


def _closed(loan: Loan) -> str:
    if loan.stage != LoanStage.AWAY:
        return f"Kit {loan.kit.code} is packed."
    student = loan.enrolment.student.name
    return f"Kit {loan.kit.code} is packed and on its way to {student}."


@posted_at_the_bench
def pack_rest(request: DeskRequest, code: str) -> HttpResponse:
    """All that is only counted is in the parcel."""
    kit = kit_or_404(code)
    return press_button(
        request,
        "tick the counted rest",
        lambda: tick_counted(kit, actor=request.user),
        home=_home(kit.code),
    )


@posted_at_the_bench
def pack_override(request: DeskRequest, code: str) -> HttpResponse:
    """Lets a kit go out that is not cleared, on the owner's written reason."""
    form = OverrideForm(request.POST)
    return _act(request, code_or_404(code), "override", override_gate, override_form=form)


@posted_at_the_bench
def pack_short_dated(request: DeskRequest, code: str) -> HttpResponse:
    """Lets pieces go out that expire during the loan, on the owner's written reason."""
    form = ShortDatedForm(request.POST, prefix="dated")
    return _act(request, code_or_404(code), "short-dated", allow_short_dated, short_dated_form=form)


@posted_at_the_bench
def pack_unpack(request: DeskRequest, code: str) -> HttpResponse:
    """Opens a packed parcel again."""
    code = code_or_404(code)
    return _act(
        request,
        code,
        "unpack",
        unpack,
        success=f"Kit {code} is unpacked; stock is back on the shelf.",
        unpack_form=UndoForm(request.POST, prefix="unpack"),
    )


@posted_at_the_bench
def pack_mail(request: DeskRequest, code: str) -> HttpResponse:
    """Drafts the mail with the packing list, where none is drafted by itself or it was
    discarded.
    """
    kit = kit_or_404(code)
    loan = open_loan(kit)
    if loan is None or not may_send_packing_list(LoanStage(loan.stage)):
        nothing = f"Kit {kit.code} is not packed, so there is no packing list to send."
        messages.error(request, nothing)
        return go_to(request, _home(kit.code))
    return press_button(
        request,
        "draft the packing mail",
        lambda: draft_on_request(Message.Occasion.PACKING_LIST, loan, actor=request.user),
        home=_home(kit.code),
        then=Message.get_absolute_url,
    )


@posted_at_the_bench
def pack_dispatch(request: DeskRequest, code: str) -> HttpResponse:
    """Hands the parcel over."""
    code = code_or_404(code)
    return _act(
        request,
        code,
        "dispatch",
        dispatch,
        success=f"Kit {code} is on its way.",
        dispatch_form=DispatchForm(request.POST),
    )


@posted_at_the_bench
def pack_recall(request: DeskRequest, code: str) -> HttpResponse:
    """Takes a dispatch back that did not happen."""
    code = code_or_404(code)
    return _act(
        request,
        code,
        "recall",
        recall,
        success=f"Kit {code} is packed and still here.",
        recall_form=UndoForm(request.POST, prefix="recall"),
    )


@posted_at_the_bench
def pack_tracking(request: DeskRequest, code: str) -> HttpResponse:
    """Mends the tracking number of a parcel under way."""
    loan = open_loan(kit_or_404(code))

    def correct(_: str, tracking_number: str, actor: User) -> None:
        if loan is not None:
            correct_tracking(loan, tracking_number, actor=actor)

    form = TrackingForm.of(loan, request.POST) if loan else TrackingForm(request.POST)
    return _act(request, code_or_404(code), "tracking number", correct, tracking_form=form)
