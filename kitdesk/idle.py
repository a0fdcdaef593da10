"""Sessions end after some hours without use, and after two weeks whatever they did."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from datetime import datetime

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import logout
from django.contrib.sessions.backends.base import SessionBase, UpdateError
from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from kitdesk.open_sessions import SINCE, USED, has_ended
from rentals.counts import counted

#: Seconds; a use is written down no more often than this.
NOTED_EVERY_S = 60


class IdleMiddleware:
    """Signs out whose session was idle for too long, and notes that the others are in use."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        # Only a request with a session can be anybody's, and only then is a query worth it.
        if settings.SESSION_COOKIE_NAME in request.COOKIES and request.user.is_authenticated:
            now = timezone.now()
            if has_ended(request.session, now):
                _end(request)
            else:
                _note_use(request.session, now)
        return self.get_response(request)


def _end(request: HttpRequest) -> None:
    logout(request)
    hours = counted(settings.KITDESK_IDLE_HOURS, "hour", "hours")
    words = f"You were signed out: {hours} without use, or two weeks in all. Sign in to go on."
    messages.info(request, words)


def _note_use(session: SessionBase, now: datetime) -> None:
    """Write down the use once a minute. Where the database is busy the page goes on without: the
    next one tries again.
    """
    seconds = int(now.timestamp())
    if abs(seconds - session.get(USED, 0)) < NOTED_EVERY_S:
        return
    was_modified = session.modified
    session[USED] = seconds
    # Where the clock was set back, both begin anew: else they would last until it is there again.
    session[SINCE] = min(session.get(SINCE, seconds), seconds)
    with contextlib.suppress(DatabaseError, UpdateError):
        session.save()
    # Written already: the page's own answer need not write it again.
    session.modified = was_modified
