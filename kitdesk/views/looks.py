"""How the desk looks on this device, and which keys work on it."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from kitdesk.themes import THEME_COOKIE, THEMES
from rentals.web.acting import next_address
from rentals.web.page_or_part import go_to
from rentals.web.request import DeskRequest

A_YEAR_S = 365 * 24 * 3600


@require_POST
def theme(request: DeskRequest) -> HttpResponse:
    """Keep light or dark for this browser; any other word follows the device again."""
    answer = go_to(request, next_address(request, reverse("rentals:today")))
    chosen = request.POST.get("theme", "")
    if chosen in THEMES:
        answer.set_cookie(
            THEME_COOKIE,
            chosen,
            A_YEAR_S,
            secure=request.is_secure(),
            httponly=True,
            samesite="Lax",
        )
    else:
        answer.delete_cookie(THEME_COOKIE, samesite="Lax")
    return answer


@require_safe
def keys(request: HttpRequest) -> HttpResponse:
    """The keys that save a hand the way to the mouse."""
    return render(request, "kitdesk/keys.html")
