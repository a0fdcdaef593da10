"""The backups in the folder, by their days."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from django.utils import timezone

_NAME = re.compile(r"kitdesk-(\d{4}-\d\d-\d\d)\.(?:zip|sealed)")


@dataclass(frozen=True)
class Kept:
    """One backup in the folder: its day, its file, bytes, when it was written."""

    day: date
    path: Path
    size: int
    written_at: datetime


def day_of(name: str) -> date | None:
    """The day of the backup in a file of that name; None where it is none."""
    match = _NAME.fullmatch(name)
    return date.fromisoformat(match[1]) if match else None


def kept_in(folder: Path) -> list[Kept]:
    """All that are there, newest first."""
    found = []
    for path in folder.glob("kitdesk-*"):
        if day := day_of(path.name):
            facts = path.stat()
            written_at = datetime.fromtimestamp(facts.st_mtime, timezone.get_current_timezone())
            found.append(Kept(day, path, facts.st_size, written_at))
    return sorted(found, key=lambda kept: (kept.day, kept.written_at), reverse=True)


def read_words(path: Path) -> dict[str, str]:
    """What was written down there; nothing where that cannot be read."""
    try:
        found = json.loads(path.read_text())
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}
