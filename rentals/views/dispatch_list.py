"""Dispatching a pile of parcels: one box takes a kit, its tracking number, the next kit.

Which kit waits for its number, who carries the parcels, and what went out in this sitting, is kept
in the session: so scans faster than the answers are understood in their order.
"""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from rentals.actions.dispatch import recall
from rentals.actions.dispatch_scan import DispatchScan, scan_for_dispatch
from rentals.codes import grouped
from rentals.forms.pack import DispatchScanForm
from rentals.selectors.carriers import carriers_offered
from rentals.selectors.packing import parcel, parcels_packed, parcels_sent
from rentals.web.acting import carry_out, post_or_go_to, result_or_refusal
from rentals.web.finding import page_of
from rentals.web.page_or_part import go_to, page_again, vary_by_htmx, wants_part
from rentals.web.photo_scan import takes_photo
from rentals.web.request import DeskRequest
from rentals.web.scan_outcome import scan_answer

_WAITING, _SENT, _CARRIER = "dispatch_waiting", "dispatch_sent", "dispatch_carrier"
MOST_SENT = 100


@require_safe
def dispatch_list(request: DeskRequest) -> HttpResponse:
    """The box, what waits to be dispatched, and what has just left."""
    return render(request, "rentals/pack/dispatch.html", _context(request))


@post_or_go_to("rentals:dispatch_list")
@takes_photo("rentals:dispatch_list")
def dispatch_scan(request: DeskRequest) -> HttpResponse:
    """A kit or a tracking number was scanned."""
    form = DispatchScanForm(request.POST)
    waiting = request.session.get(_WAITING, "")
    scan = result_or_refusal(
        lambda: scan_for_dispatch(
            form.cleaned_data["scan"],
            waiting,
            carrier=form.cleaned_data["carrier"],
            actor=request.user,
        ),
        form,
    )
    if form.is_valid():
        request.session[_CARRIER] = form.cleaned_data["carrier"]
    if scan is not None:
        _remember(request, scan)
    understood = {"scan_said": scan.sentence if scan else "", "scan_form": form}
    if wants_part(request):
        context = {**_context(request), **understood}
        answer = vary_by_htmx(render(request, "rentals/pack/_dispatched.html", context))
    elif scan is None:
        context = {**_context(request), **understood}
        answer = page_again(request, "rentals/pack/dispatch.html", context)
    else:
        messages.success(request, scan.sentence)
        answer = go_to(request, reverse("rentals:dispatch_list"))
    return scan_answer(answer, accepted=scan is not None)


def _remember(request: DeskRequest, scan: DispatchScan) -> None:
    request.session[_WAITING] = scan.waiting
    if scan.sent is not None:
        sent = [*request.session.get(_SENT, []), scan.sent.pk]
        request.session[_SENT] = sent[-MOST_SENT:]


@post_or_go_to("rentals:dispatch_list")
def dispatch_undo(request: DeskRequest) -> HttpResponse:
    """The last one did not leave: its kit is packed again and waits for its number."""
    home = reverse("rentals:dispatch_list")
    last = parcels_sent(request.session.get(_SENT, [])[-1:])
    if not last:
        messages.warning(request, "There is nothing to undo.")
        return go_to(request, home)
    code, number = last[0].kit.code, last[0].tracking_number
    answer = carry_out(
        request,
        "undo the last dispatch",
        lambda: recall(code, actor=request.user),
        then=home,
        success=f"Kit {grouped(code)} is packed and still here; {number} is taken back.",
    )
    if answer is not None:
        request.session[_WAITING] = code
        request.session[_SENT] = request.session.get(_SENT, [])[:-1]
    return answer or go_to(request, home)


def _context(request: DeskRequest) -> dict[str, Any]:
    today = timezone.localdate()
    packed = parcels_packed()
    page = page_of(request, packed)
    code = request.session.get(_WAITING, "")
    carriers = carriers_offered()
    return {
        "carriers": carriers,
        "carrier": request.session.get(_CARRIER, carriers[0] if carriers else ""),
        "page": page,
        "rows": [parcel(loan, today) for loan in page],
        "waiting": packed.filter(kit__code=code).first() if code else None,
        "sent": parcels_sent(request.session.get(_SENT, [])),
    }
