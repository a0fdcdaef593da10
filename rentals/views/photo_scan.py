"""Scanning by camera: a photo of a label for the scan box, and picking one code of several."""

from __future__ import annotations

from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import Resolver404, resolve, reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from rentals.codes import is_code, parse_code
from rentals.forms.scan import LabelPhotoForm
from rentals.selectors.scan import understand
from rentals.web.form_page import form_shown
from rentals.web.photo_scan import MOST_CODES, pick_address
from rentals.web.request import DeskRequest, get_or_post, posted_with_files

#: Acts that take a picked code.
_SCANS = {"rentals:pack_scan", "rentals:dispatch_scan", "rentals:receive_scan"}


@get_or_post
def label_photo(request: DeskRequest) -> HttpResponse:
    """A photo is read and looked up as if its code had been typed into the scan box."""
    form = LabelPhotoForm(*posted_with_files(request))
    if form.is_valid():
        codes = form.cleaned_data["codes"]
        return HttpResponseRedirect(_look_up(codes[0]) if len(codes) == 1 else pick_address(codes))
    return form_shown(request, form, "rentals/desk/photo.html")


@require_safe
def pick_code(request: DeskRequest) -> HttpResponse:
    """Several codes were in the photo: each with what it means and the button that scans it."""
    to = _scan_address(request.GET.get("to", ""))
    read = (parse_code(text) if is_code(text) else text for text in request.GET.getlist("code"))
    codes = list(dict.fromkeys(filter(str.strip, read)))[:MOST_CODES]
    rows = [(code, understand(code).sentence, _look_up(code)) for code in codes]
    return render(request, "rentals/desk/pick_code.html", {"rows": rows, "to": to})


def _look_up(code: str) -> str:
    return f"{reverse('rentals:scan')}?{urlencode({'q': code})}"


def _scan_address(address: str) -> str:
    """The address where a picked code is scanned; empty for the scan box on top."""
    if not address:
        return ""
    try:
        found = resolve(address)
    except Resolver404:
        raise Http404("No scan is taken there.") from None
    if found.view_name not in _SCANS:
        raise Http404("No scan is taken there.")
    return address
