"""Heads of the log that were told: kept beside the key, so that a log whose end was cut off, or
that was written anew, shows.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.utils import timezone

from rentals.models import LogLine

from .chain import head_of_log


def head_from_words(words: str) -> tuple[int, str]:
    """Number and code of a head as it is shown: ``N:MAC``. Raises ValueError where it is none."""
    number, _, mac = words.strip().partition(":")
    if not number.isdecimal() or not mac:
        raise ValueError(f"{words!r} is no head of the log: give its number, a colon and its code.")
    return int(number), mac


def tell_head(now: datetime | None = None) -> None:
    """Write the day's head into the file of heads, once a day."""
    file, day = _file(), timezone.localdate(now).isoformat()
    lines = _lines(file)
    head = head_of_log()
    if not head.number or (lines and lines[-1].startswith(day)):
        return
    with file.open("a") as out:
        out.write(f"{day} {head}\n")
    file.chmod(0o600)


def begin_heads_anew() -> None:
    """Another log has taken the place of this desk's own: tell where that one ends."""
    _file().unlink(missing_ok=True)
    tell_head()


def told_heads() -> dict[int, str]:
    """Number and code of every head in the file."""
    heads = (line.split(maxsplit=1)[1] for line in _lines(_file()) if " " in line.strip())
    return dict(head_from_words(head) for head in heads)


def holds_heads(heads: Mapping[int, str]) -> bool:
    """Whether each of them stands in the log."""
    lines = LogLine.objects.filter(position__in=heads)
    return dict(lines.values_list("position", "mac")) == dict(heads)


def _file() -> Path:
    return Path(settings.KITDESK_LOG_HEADS)


def _lines(file: Path) -> list[str]:
    return file.read_text().splitlines() if file.exists() else []
