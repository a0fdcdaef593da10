"""The calendar's private addresses, and the feed they give."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from datetime import date
from typing import Any

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.utils.crypto import salted_hmac
from django.utils.http import quote_etag
from django.views.decorators.http import require_safe

from rentals.actions.mail_setup import (
    make_calendar_link,
    note_calendar_read,
    renew_calendar_link,
    revoke_calendar_link,
)
from rentals.actions.once import once
from rentals.errors import Refused
from rentals.forms.messages import CalendarLinkForm
from rentals.models import CalendarLink, Practice
from rentals.post.calendar import feed_bytes
from rentals.selectors.calendar import days_ahead
from rentals.selectors.kept_answers import KeptAnswers
from rentals.student_tokens import token_digest
from rentals.web.acting import form_key_of
from rentals.web.form_page import ActPage, act_page, form_shown
from rentals.web.request import DeskRequest, get_or_post, posted

from .printing import site_address

LINKS_SHOWN = 100
DAYS_SHOWN = 200


@get_or_post
def links(request: DeskRequest) -> HttpResponse:
    """All that were given out, and a form for a new one, whose address is shown this once."""
    form = CalendarLinkForm(posted(request))
    if form.is_valid():
        name = form.cleaned_data["name"]
        return _made(request, name, lambda: make_calendar_link(name, actor=request.user))
    return form_shown(request, form, "rentals/setup/calendar.html", _links_context)


@get_or_post
def renew(request: DeskRequest, pk: int) -> HttpResponse:
    """Another address in place of one."""
    link = get_object_or_404(CalendarLink, pk=pk)
    if request.method == "POST":
        return _made(request, link.name, lambda: renew_calendar_link(link, actor=request.user))
    return render(request, "rentals/setup/calendar_new.html", {"name": link.name})


def _made(request: DeskRequest, name: str, make: Callable[[], str]) -> HttpResponse:
    """The page with the new address: it is kept nowhere, so the answer to the form is the page."""
    home, act = reverse("rentals:calendar_links"), "make a calendar address"
    made: list[str] = []

    def make_and_go() -> str:
        made.append(make())
        return home

    context = {"name": name, "site": site_address(request, Practice.current())}
    try:
        once(form_key_of(request, act), act, make_and_go, by=request.user)
    except Refused as refusal:
        context["refusal"] = refusal.sentence
    else:
        if not made:  # Sent twice: the first answer has shown it.
            return HttpResponseRedirect(home)
        context["token"] = made[0]
    return render(request, "rentals/setup/calendar_new.html", context)


def _links_context() -> dict[str, Any]:
    return {
        "links": CalendarLink.objects.all()[:LINKS_SHOWN],
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
    link = CalendarLink.objects.filter(
        token_sha256=token_digest(token), revoked_at__isnull=True
    ).first()
    if link is None:
        raise Http404("There is no calendar here.")
    note_calendar_read(link)
    content = _feed(timezone.localdate(), settings.SITE_URL, desk_name())
    answer = HttpResponse(content, content_type="text/calendar; charset=utf-8")
    answer["Content-Disposition"] = 'inline; filename="kitdesk.ics"'
    answer["Cache-Control"] = "private, max-age=900"
    etag = quote_etag(hashlib.sha256(content).hexdigest()[:32])
    answer["ETag"] = etag
    return get_conditional_response(request, etag=etag, response=answer) or answer


def _feed(today: date, site_url: str, desk: str) -> bytes:
    """Calendars ask every hour for what has hardly changed, so it is kept until something does."""

    def find() -> bytes:
        name = Practice.current().name
        return feed_bytes(days_ahead(today=today), name=name, site_url=site_url, desk=desk)

    return KeptAnswers().of(("the calendar feed", today, site_url, desk), find)


def desk_name() -> str:
    """What tells this desk's entries from another's, whatever address it is reached under."""
    return f"{salted_hmac('rentals.calendar', 'desk').hexdigest()[:16]}.kitdesk"
