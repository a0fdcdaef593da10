"""The calendar's private addresses, and the feed they give."""

from __future__ import annotations

import hashlib
from typing import Any

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.cache import get_conditional_response
from django.utils.crypto import salted_hmac
from django.utils.http import quote_etag
from django.views.decorators.http import require_safe

from rentals.actions.mail_setup import make_calendar_link, note_calendar_read, revoke_calendar_link
from rentals.forms.messages import CalendarLinkForm
from rentals.models import CalendarLink, Practice
from rentals.post.calendar import feed_bytes
from rentals.selectors.calendar import days_ahead
from rentals.web.form_page import ActPage, act_page, form_page
from rentals.web.request import DeskRequest, get_or_post, posted

from .printing import site_address

LINKS_SHOWN = 100
DAYS_SHOWN = 200


@get_or_post
def links(request: DeskRequest) -> HttpResponse:
    """All addresses given out, and a form for a new one."""
    return form_page(
        request,
        CalendarLinkForm(posted(request)),
        "rentals/setup/calendar.html",
        act="make a calendar address",
        do=lambda data: make_calendar_link(data["name"], actor=request.user),
        then=reverse("rentals:calendar_links"),
        context=lambda: _links_context(request),
    )


def _links_context(request: DeskRequest) -> dict[str, Any]:
    return {
        "links": CalendarLink.objects.all()[:LINKS_SHOWN],
        "site": site_address(request, Practice.current()),
        "days": days_ahead()[:DAYS_SHOWN],
    }


@get_or_post
def revoke(request: DeskRequest, pk: int) -> HttpResponse:
    """An address answers nobody any more."""
    link = get_object_or_404(CalendarLink, pk=pk)
    effects = (
        "Calendars that use it get nothing from now on.",
        "A new address can be made at any time; it is another one.",
    )
    page = ActPage(
        f"Revoke the calendar address “{link.name}”",
        submit="Revoke",
        effects=effects,
        danger=True,
    )
    home = reverse("rentals:calendar_links")
    return act_page(request, page, lambda _: revoke_calendar_link(link), home=home)


@login_not_required
@require_safe
def feed(request: DeskRequest, token: str) -> HttpResponse:
    """The feed, for whoever has a private address that was not revoked."""
    link = CalendarLink.objects.filter(token=token[:64], revoked_at__isnull=True).first()
    if link is None:
        raise Http404("There is no calendar here.")
    note_calendar_read(link)
    content = feed_bytes(
        days_ahead(),
        name=Practice.current().name,
        site_url=settings.SITE_URL,
        desk=desk_name(),
    )
    answer = HttpResponse(content, content_type="text/calendar; charset=utf-8")
    answer["Content-Disposition"] = 'inline; filename="kitdesk.ics"'
    answer["Cache-Control"] = "private, max-age=900"
    etag = quote_etag(hashlib.sha256(content).hexdigest()[:32])
    answer["ETag"] = etag
    return get_conditional_response(request, etag=etag, response=answer) or answer


def desk_name() -> str:
    """What tells this desk's entries from another's, whatever address it is reached under."""
    return f"{salted_hmac('rentals.calendar', 'desk').hexdigest()[:16]}.kitdesk"
