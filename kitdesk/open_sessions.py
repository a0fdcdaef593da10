"""Who is signed in where, and how that ends.

A session itself holds since when it is in use, when it was used last and the browser in plain
words; neither an address nor anything finer is kept.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.auth.models import User
from django.contrib.sessions.models import Session
from django.http import HttpRequest
from django.utils import timezone
from django.utils.crypto import constant_time_compare, salted_hmac

from kitdesk.browser_words import browser_in_words

SINCE, USED, BROWSER = "signed_in_at", "last_used_at", "browser"


@dataclass(frozen=True)
class OpenSession:
    """A browser that is signed in; `handle` names it in forms and opens nothing."""

    handle: str
    browser: str
    since: datetime | None
    used: datetime | None
    is_this: bool


def note_sign_in(request: HttpRequest, **words: Any) -> None:
    """Write into a new session what its list will show."""
    now = int(timezone.now().timestamp())
    agent = request.headers.get("User-Agent", "")
    request.session.update({SINCE: now, USED: now, BROWSER: browser_in_words(agent)})


def has_ended(session: Any, now: datetime) -> bool:
    """Whether a session was idle for too long, or is too old whatever it did."""
    idle = timedelta(hours=settings.KITDESK_IDLE_HOURS)
    used, since = _moment(session, USED), _moment(session, SINCE)
    if used is not None and now - used > idle:
        return True
    return since is not None and (now - since).total_seconds() > settings.SESSION_COOKIE_AGE


def sessions_of(user: User, this_key: str | None = None) -> list[OpenSession]:
    """Where somebody is signed in, used last first; one query."""
    found = [
        OpenSession(
            _handle(key),
            session.get(BROWSER, "An unknown browser"),
            _moment(session, SINCE),
            _moment(session, USED),
            key == this_key,
        )
        for key, session in _all_of(user)
        if _still_opens(session, user)
    ]
    oldest = datetime.min.replace(tzinfo=UTC)
    return sorted(found, key=lambda seen: (seen.is_this, seen.used or oldest), reverse=True)


def end_sessions(user: User, *, handle: str = "", but_key: str | None = None) -> int:
    """End the session of that handle, or all but the one named; returns how many ended."""
    keys = [
        key for key, _ in _all_of(user) if key != but_key and (not handle or _handle(key) == handle)
    ]
    Session.objects.filter(pk__in=keys).delete()
    return len(keys)


def end_others_after_new_password(request: HttpRequest, user: User, **words: Any) -> None:
    """A new password leaves only the session it was set in."""
    end_sessions(user, but_key=request.session.session_key)


def _all_of(user: User) -> Iterator[tuple[str, dict[str, Any]]]:
    running = Session.objects.filter(expire_date__gt=timezone.now())
    for row in running.iterator():
        session = row.get_decoded()
        if session.get(SESSION_KEY) == str(user.pk):
            yield row.pk, session


def _still_opens(session: dict[str, Any], user: User) -> bool:
    """One of before the last password, or of a closed account, opens nothing any more."""
    is_of_password = constant_time_compare(
        session.get(HASH_SESSION_KEY, ""), user.get_session_auth_hash()
    )
    is_signed_in = user.is_active and BACKEND_SESSION_KEY in session
    return is_signed_in and is_of_password and not has_ended(session, timezone.now())


def _handle(key: str) -> str:
    return salted_hmac("kitdesk.open_sessions", key).hexdigest()[:24]


def _moment(session: Any, name: str) -> datetime | None:
    seconds = session.get(name)
    return None if seconds is None else datetime.fromtimestamp(seconds, UTC)
