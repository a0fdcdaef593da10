"""How the desk looks and sounds on this device, and which keys work on it."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from kitdesk.scan_sounds import SIGNALS_COOKIE, SIGNALS_OFF
from kitdesk.themes import THEME_COOKIE, THEMES
from rentals.web.acting import next_address
from rentals.web.page_or_part import go_to
from rentals.web.request import DeskRequest

A_YEAR_S = 365 * 24 * 3600


@require_POST
def theme(request: DeskRequest) -> HttpResponse:
    """Keep light or dark for this browser; any other word follows the device again."""
    chosen = request.POST.get("theme", "")
    return _with_choice(request, THEME_COOKIE, chosen if chosen in THEMES else "")


@require_POST
def signals(request: DeskRequest) -> HttpResponse:
    """Switch sound and vibration off for this browser, or on again."""
    is_off = request.POST.get("signals") == SIGNALS_OFF
    return _with_choice(request, SIGNALS_COOKIE, SIGNALS_OFF if is_off else "")


def _with_choice(request: DeskRequest, cookie: str, choice: str) -> HttpResponse:
    """Back to the page one came from, with a choice kept in this browser; an empty one is
    forgotten.
    """
    answer = go_to(request, next_address(request, reverse("rentals:today")))
    if choice:
        answer.set_cookie(
            cookie, choice, A_YEAR_S, secure=request.is_secure(), httponly=True, samesite="Lax"
        )
    else:
        answer.delete_cookie(cookie, samesite="Lax")
    return answer


@require_safe
def keys(request: HttpRequest) -> HttpResponse:
    """The keys that save a hand the way to the mouse."""
    return render(request, "kitdesk/keys.html")
