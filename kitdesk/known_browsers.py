"""Browsers that somebody has signed in with before, known by a signed cookie.

It opens nothing. It only tells its browser from the strangers who try passwords for a name.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponse

COOKIE = "kitdesk_browser"
SALT = "kitdesk.known-browser"
LASTS = 400 * 24 * 3600
"""Seconds; browsers keep no cookie for longer."""


def browser_of(cookie: str, user_id: int | None = None) -> str:
    """The random name of the browser that carries this cookie; empty where it is not ours, is too
    old, or belongs to somebody other than ``user_id``.
    """
    try:
        owner, name = signing.loads(cookie, salt=SALT, max_age=LASTS)
    except (signing.BadSignature, ValueError, TypeError):
        return ""
    return str(name) if user_id is None or owner == user_id else ""


class KnownBrowserMiddleware:
    """Gives a browser its cookie as soon as somebody is signed in with it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        # Only a request with a session can be anybody's, and only then is a query worth it.
        if settings.SESSION_COOKIE_NAME in request.COOKIES or request.session.modified:
            self._mark(request, response)
        return response

    @staticmethod
    def _mark(request: HttpRequest, response: HttpResponse) -> None:
        user = request.user
        if not user.is_authenticated or browser_of(request.COOKIES.get(COOKIE, ""), user.pk):
            return
        value = signing.dumps([user.pk, secrets.token_urlsafe(12)], salt=SALT)
        response.set_cookie(
            COOKIE,
            value,
            max_age=LASTS,
            httponly=True,
            secure=settings.SESSION_COOKIE_SECURE,
            samesite="Lax",
        )
