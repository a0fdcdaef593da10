"""The table with several parcels: one scan box for all checks under way."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from rentals.actions.once import patiently
from rentals.actions.table_scan import TableScan, scan_on_table
from rentals.errors import Refused
from rentals.models import Kit
from rentals.selectors.found import finds_to_put_away, found_rows
from rentals.selectors.open_loan import open_loan
from rentals.selectors.return_table import checks_under_way
from rentals.web.finding import kit_or_404, page_of
from rentals.web.photo_scan import takes_photo
from rentals.web.request import DeskRequest
from rentals.web.scan_outcome import scan_answer

FOUND_SHOWN = 12


@require_safe
def table(request: DeskRequest, code: str = "") -> HttpResponse:
    """The checks under way, and the box that takes the parts of all of them; with a kit's code its
    parcel is in hand.
    """
    parcel = kit_or_404(code) if code else None
    context = {
        "page": page_of(request, checks_under_way()),
        "parcel": parcel,
        "loan": open_loan(parcel) if parcel else None,
        "scan_url": _address("receive_table_scan", parcel),
        "found": found_rows(finds_to_put_away()[:FOUND_SHOWN]),
    }
    return render(request, "rentals/receive/table.html", context)


@require_POST
@takes_photo("rentals:receive_table")
def scan(request: DeskRequest, code: str = "") -> HttpResponse:
    """A scan at the table, with the parcel in hand where there is one."""
    parcel = kit_or_404(code) if code else None
    scanned = TableScan("")
    try:
        text = request.POST.get("scan", "")
        scanned = patiently(lambda: scan_on_table(text, parcel, actor=request.user))
    except Refused as refusal:
        messages.error(request, refusal.sentence)
    else:
        level = messages.SUCCESS if scanned.accepted else messages.WARNING
        messages.add_message(request, level, scanned.sentence)
    address = _address("receive_table", scanned.parcel or parcel)
    return scan_answer(HttpResponseRedirect(address), accepted=scanned.accepted)


def _address(route: str, parcel: Kit | None) -> str:
    return reverse(f"rentals:{route}", args=[parcel.code] if parcel else [])
