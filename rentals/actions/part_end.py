"""When and why a part goes out of use, written down with the act that moves it there."""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone

from rentals.errors import Refused
from rentals.models import Part
from rentals.states import PartEnd, PartPlace

#: Written with the place of a part.
PLACE_FIELDS = ("kit", "place", "ended_on", "ended_as")
_OUT_OF_USE = (PartPlace.LOST, PartPlace.RETIRED)


def put_in_place(part: Part, to: str, *, cause: str = "", at: datetime | None = None) -> None:
    """Set where a locked part is that is in no kit, and, where it goes out of use, when and why;
    the caller saves `PLACE_FIELDS`.

    Where no cause is given, a lost part is lost, and one that is marked damaged was damaged.

    Raises
    ------
    Refused
        If the cause is none of `PartEnd`.
    """
    if cause and cause not in PartEnd:
        raise Refused("Choose why it goes out of use, or leave that open.", field="cause")
    # Another cause for a part that is out of use already leaves the day it went.
    ended_on = part.ended_on if part.place == to else None
    part.kit, part.place = None, to
    part.ended_on, part.ended_as = None, ""
    if to in _OUT_OF_USE:
        part.ended_on = ended_on or timezone.localdate(at or timezone.now())
        part.ended_as = _cause(part, cause)


def end_words(part: Part) -> str:
    """Where it is now and why, for its history: ``retired (worn out)``."""
    place = part.get_place_display()
    return f"{place} ({part.get_ended_as_display()})" if _says_more(part) else place


def _says_more(part: Part) -> bool:
    return part.ended_as not in ("", PartEnd.LOST)


def _cause(part: Part, cause: str) -> str:
    if part.place == PartPlace.LOST:
        return PartEnd.LOST
    return cause or (PartEnd.DAMAGED if part.damaged else "")
