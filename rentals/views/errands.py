"""Work in the background: how far it is, cancelling it, what came of it."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpResponse, HttpResponseBase, StreamingHttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_safe

from rentals.actions.errands import KEPT_FOR, cancel_errand
from rentals.models import Errand
from rentals.selectors.errands import delay_words, errands_of, pieces_of_file
from rentals.web.acting import post_or_go_to, press_button
from rentals.web.finding import page_of
from rentals.web.page_or_part import page_or_part, wants_part
from rentals.web.request import DeskRequest


@require_safe
def errands(request: DeskRequest) -> HttpResponse:
    """What is at work and what has ended lately: one's own, of the owner everybody's."""
    page = page_of(request, errands_of(request.user))
    context = {
        "page": page,
        "any_open": any(errand.is_open for errand in page),
        "kept_days": KEPT_FOR.days,
    }
    return page_or_part(request, "rentals/errand/list.html", "rentals/errand/_list.html", context)


@require_safe
def errand(request: DeskRequest, pk: int) -> HttpResponse:
    """One piece of work; ``?strip=1`` is the line on the page that it was asked for on."""
    found = _errand(request, pk)
    context: dict[str, Any] = {
        "errand": found,
        "may_see": request.may(found.seen_by),
        "delay": delay_words(found, timezone.now()),
        "swapped": wants_part(request),
        "kept_days": KEPT_FOR.days,
    }
    part = "_strip_line.html" if "strip" in request.GET else "_errand.html"
    return page_or_part(request, "rentals/errand/detail.html", f"rentals/errand/{part}", context)


@post_or_go_to("rentals:errand")
def cancel(request: DeskRequest, pk: int) -> HttpResponse:
    """Nobody goes on with it."""
    found = _errand(request, pk)
    return press_button(
        request,
        "cancel work",
        lambda: cancel_errand(found),
        home=found.get_absolute_url(),
    )


@require_safe
def file(request: DeskRequest, pk: int) -> HttpResponseBase:
    """The file that was made."""
    found = _errand(request, pk)
    if not found.is_done or not found.file_name or not request.may(found.seen_by):
        raise Http404("This work has made no file, or the file is gone.")
    answer = StreamingHttpResponse(pieces_of_file(found), content_type=found.content_type)
    answer["Content-Disposition"] = content_disposition_header(
        as_attachment=True, filename=found.file_name
    )
    return answer


def _errand(request: DeskRequest, pk: int) -> Errand:
    return get_object_or_404(errands_of(request.user), pk=pk)
