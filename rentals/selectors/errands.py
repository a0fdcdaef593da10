"""Work in the background, for its pages and for the pages that it was asked for on."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from django.contrib.auth.models import User
from django.db.models import Q, QuerySet
from django.utils import timezone

from rentals.known_query import A_TEXT, KnownQuery
from rentals.models import Errand, ErrandKind, ErrandPiece, RosterDraft
from rentals.states import OPEN_ERRANDS, ErrandState

#: A worker that is alive says how far it is every second or so; a queue moves within seconds.
QUIET = timedelta(seconds=60)
#: For so long the page that something was asked for on shows that it has ended.
SHOWN_FOR = timedelta(hours=12)
SHOWN_ON_PAGE = 3


def errands_of(person: User) -> QuerySet[Errand]:
    """What somebody has asked for; the owner sees everything."""
    errands = Errand.objects.select_related("asked_by")
    return errands if person.is_superuser else errands.filter(asked_by=person)


#: Whether anything was ever asked for on a page: mostly not.
_ABOUT = KnownQuery(
    lambda address: Errand.objects.filter(about=address).order_by().values_list("pk")[:1], A_TEXT
)


def errands_about(address: str, person: User) -> list[Errand]:
    """The newest that somebody has asked for on a page: what is open, or has just ended."""
    if not _ABOUT.rows(address):
        return []
    fresh = Q(state__in=OPEN_ERRANDS) | Q(ended_at__gt=timezone.now() - SHOWN_FOR)
    return list(errands_of(person).filter(fresh, about=address).order_by("-pk")[:SHOWN_ON_PAGE])


def import_under_way(draft: RosterDraft) -> Errand | None:
    """The work that imports a roster and has not ended, if there is any."""
    about = draft.run.get_absolute_url()
    imports = Errand.objects.filter(kind=ErrandKind.ROSTER, about=about, state__in=OPEN_ERRANDS)
    return next((errand for errand in imports if errand.facts["draft"] == draft.pk), None)


def delay_words(errand: Errand, now: datetime) -> str:
    """Why nothing moves, where nothing does; else empty."""
    if errand.state == ErrandState.WAITING and errand.asked_at < now - QUIET:
        return "It waits for a worker: all are busy with other work, or none is running."
    heard = errand.claimed_at
    if errand.state == ErrandState.WORKING and heard is not None and heard < now - QUIET:
        return (
            "Nothing was heard of it for over a minute. If its worker has ended, another one begins"
            " it anew within some minutes."
        )
    return ""


def pieces_of_file(errand: Errand) -> Iterator[bytes]:
    """The file that an errand has made, a piece in memory at a time."""
    pieces = ErrandPiece.objects.filter(errand=errand)
    for number in pieces.order_by("number").values_list("number", flat=True):
        piece = pieces.filter(number=number).values_list("content", flat=True).first()
        if piece is not None:
            yield bytes(piece)
