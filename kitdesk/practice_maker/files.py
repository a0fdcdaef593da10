"""Capture files of a copy: the played recordings with another kit and day in their heads (EDF)."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta

from rentals.models import Kit

from .played import Played

#: Where the head says the day, and how long the part of it is that is about the whole file.
_DAY, _HEAD = slice(168, 176), 256


def redated(content: bytes, later: timedelta) -> bytes:
    """A capture file taken so much later."""
    head = content[:_HEAD].decode("ascii")
    then = datetime.strptime(head[_DAY], "%d.%m.%y")
    for form in ("%d.%m.%y", "%d-%b-%Y"):
        old, new = (f"{day:{form}}".upper() for day in (then, then + later))
        head = head.replace(old, new, 1)
    return head.encode("ascii") + content[_HEAD:]


def relabelled(content: bytes, played: Played, words: Mapping[str, str]) -> bytes:
    """A capture file with the copy's kit code in its head, as long as it was."""
    head = content[:_HEAD]
    for (code,) in played.values(played.chapters.told[0], Kit, "code"):
        old, new = str(code).encode(), words[str(code)].encode()
        head = head.replace(old + b" " * (len(new) - len(old)), new, 1)
    return head + content[_HEAD:]
