"""The calendar's private addresses, and the feed they give."""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from rentals.actions.mail_setup import make_calendar_link, note_calendar_read, revoke_calendar_link
from rentals.forms.messages import CalendarLinkForm
from rentals.models import CalendarLink, Practice
from rentals.post.calendar import days_ahead, feed_bytes
from rentals.web.acting import carry_out

from .kit_acts import ActPage, act_page, get_or_post
from .labels import site_address


@get_or_post
def links(request: HttpRequest) -> HttpResponse:
    """All addresses given out, and a form for a new one."""
    form = CalendarLinkForm(request.POST or None)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            make_calendar_link(form.cleaned_data["name"], actor=request.user)
            return reverse("rentals:calendar_links")

        answer = carry_out(request, "make a calendar address", do, form=form)
        if answer is not None:
            return answer
    practice = Practice.current()
    context = {
        "form": form,
        "links": CalendarLink.objects.all()[:100],
        "site": site_address(request, practice),
        "days": days_ahead()[:200],
    }
    return render(
        request,
        "rentals/setup/calendar.html",
        context,
        status=422 if request.method == "POST" else 200,
    )


@get_or_post
def revoke(request: HttpRequest, pk: int) -> HttpResponse:
    """An address answers nobody any more."""
    link = get_object_or_404(CalendarLink, pk=pk)
    page = ActPage(
        f"Revoke the calendar address “{link.name}”",
        "Revoke",
        (
            "Calendars that use it get nothing from now on.",
            "A new address can be made at any time.",
        ),
        danger=True,
    )
    return act_page(
        request,
        page,
        lambda data: revoke_calendar_link(link),
        home=reverse("rentals:calendar_links"),
    )


@login_not_required
@require_safe
def feed(request: HttpRequest, token: str) -> HttpResponse:
    """The feed, for whoever has a private address that was not revoked."""
    link = CalendarLink.objects.filter(token=token[:64], revoked_at__isnull=True).first()
    if link is None:
        raise Http404("There is no calendar here.")
    note_calendar_read(link)
    answer = HttpResponse(
        feed_bytes(days_ahead(), name=Practice.current().name),
        content_type="text/calendar; charset=utf-8",
    )
    answer["Content-Disposition"] = 'inline; filename="kitdesk.ics"'
    answer["Cache-Control"] = "private, max-age=900"
    return answer
