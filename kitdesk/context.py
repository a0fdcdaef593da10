"""What base.html needs on every page."""

import uuid
from pathlib import Path
from typing import NamedTuple

from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse
from django.utils import timezone
from django.utils.functional import SimpleLazyObject

from kitdesk.backups import daily
from kitdesk.roles.gate import Allowed
from kitdesk.scan_sounds import signals_on
from kitdesk.themes import theme_choices, theme_of
from kitdesk.watching.looking import pressing_findings
from rentals.addresses import page_address
from rentals.models import Practice

# The phone shows the first five; the rest is under "More". The packing bench comes before the desk
# work.
SCREENS = (
    ("Today", "rentals:today"),
    ("Kits", "rentals:kits"),
    ("Pack", "rentals:pack"),
    ("Receive", "rentals:receive"),
    ("Bench", "readiness:bench"),
    ("Runs", "rentals:runs"),
    ("Plan", "rentals:plan"),
    ("Stock", "rentals:stock"),
    ("Messages", "rentals:messages"),
    ("Reports", "rentals:reports"),
    ("Setup", "rentals:setup"),
)


class Screen(NamedTuple):
    """One entry of the navigation."""

    label: str
    url: str
    current: bool


def desk(request: HttpRequest) -> dict[str, object]:
    """``nav``, ``practice_name``, ``form_key``, ``mail_to_files``, ``owner_notices``,
    ``passkeys_on``, ``outbox``, ``signals_on``, ``theme`` and ``themes`` for the shared page frame.
    """
    return {
        # A form that was refused keeps its key: it was not used up. Asked for only by a form, so
        # that a request turned away for its size is not read after all.
        "form_key": lambda: request.POST.get("form_key") or uuid.uuid4(),
        "nav": _navigation(request),
        "practice_name": SimpleLazyObject(_practice_name),
        "mail_to_files": settings.KITDESK_MAIL_TO_FILES and _is_signed_in(request),
        "owner_notices": _owner_notices(request),
        "passkeys_on": settings.KITDESK_PASSKEYS,
        "outbox": _short(settings.KITDESK_OUTBOX),
        "signals_on": signals_on(request),
        "theme": theme_of(request),
        "themes": theme_choices(request),
    }


def _is_signed_in(request: HttpRequest) -> bool:
    user = getattr(request, "user", None)
    return user is not None and user.is_authenticated


class Notice(NamedTuple):
    """A sentence at the head of Today, and where one sees to it."""

    about: str
    sentence: str
    url: str


def _owner_notices(request: HttpRequest) -> list[Notice]:
    """What the owner must know, on Today; nothing elsewhere and for helpers."""
    if not (_is_signed_in(request) and request.user.is_superuser):
        return []
    if request.path != page_address("rentals:today"):
        return []
    now = timezone.now()
    found = pressing_findings(now)
    notices = [Notice(one.title, one.sentence, reverse(one.way)) for one in found]
    of_backups = daily.warning(now, request.user.date_joined)
    if of_backups:
        notices.append(Notice("Backups", of_backups, reverse("backups")))
    return notices


def _short(folder: Path) -> str:
    """A folder under Kitdesk's own as one would type it there, else in full."""
    inside = folder.is_relative_to(settings.BASE_DIR)
    return (folder.relative_to(settings.BASE_DIR) if inside else folder).as_posix()


def _practice_name() -> str:
    """Asked only where a page shows it; a desk that has not been set up is simply called
    Kitdesk.
    """
    return Practice.objects.filter(pk=1).values_list("name", flat=True).first() or "Kitdesk"


def _navigation(request: HttpRequest) -> tuple[Screen, ...]:
    """The screens that this person may open; the one with the longest address that the page's own
    address begins with is current.
    """
    path = request.path
    if not _is_signed_in(request):
        return ()
    may = getattr(request, "may", Allowed(request))
    screens = [(label, page_address(name)) for label, name in SCREENS]
    screens = [(label, url) for label, url in screens if may(url)]
    under = [url for _, url in screens if path == url or (url != "/" and path.startswith(url))]
    current_url = max(under, key=len, default="")
    return tuple(Screen(label, url, url == current_url) for label, url in screens)
