"""Where one is signed in; the owner sees it of everybody, and both can end it."""

from __future__ import annotations

from django.conf import settings
from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from kitdesk.open_sessions import end_sessions, sessions_of
from rentals.counts import counted
from rentals.web.acting import press_button
from rentals.web.request import DeskRequest

SHOWN = 50


@require_safe
def sessions(request: DeskRequest) -> HttpResponse:
    """Where the person at this browser is signed in."""
    return _page(request, request.user)


@require_POST
def end(request: DeskRequest) -> HttpResponse:
    """End one's own session ``session``, or without it all but this one."""
    return _ended(request, request.user, reverse("sessions"))


@require_safe
def sessions_of_person(request: DeskRequest, pk: int) -> HttpResponse:
    """Where somebody is signed in. The owner's page."""
    return _page(request, _person(pk))


@require_POST
def end_of_person(request: DeskRequest, pk: int) -> HttpResponse:
    """End somebody's session ``session``, or without it all; one's own at this browser stays."""
    home = reverse("people_sessions", args=[pk])
    return _ended(request, _person(pk), home)


def _person(pk: int) -> User:
    return get_object_or_404(get_user_model(), pk=pk)


def _page(request: DeskRequest, person: User) -> HttpResponse:
    found = sessions_of(person, request.session.session_key)
    is_own = person.pk == request.user.pk
    act = reverse("session_end") if is_own else reverse("people_session_end", args=[person.pk])
    context = {
        "person": person,
        "is_own": is_own,
        "found": found[:SHOWN],
        "more": len(found) - SHOWN,
        "others": sum(not seen.is_this for seen in found),
        "act": act,
        "idle_hours": settings.KITDESK_IDLE_HOURS,
        "longest_days": settings.SESSION_COOKIE_AGE // (24 * 3600),
    }
    return render(request, "kitdesk/sessions.html", context)


def _ended(request: DeskRequest, person: User, home: str) -> HttpResponse:
    return press_button(
        request,
        "end sessions",
        lambda: end_sessions(
            person,
            handle=request.POST.get("session", ""),
            but_key=request.session.session_key,
        ),
        home=home,
        success=lambda ended: f"{counted(ended, 'session has', 'sessions have')} ended.",
    )
