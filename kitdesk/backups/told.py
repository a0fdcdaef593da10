"""How the backups stand, told by the machine that makes them to those that hold none.

Several machines share one database and nothing else. Each may be asked for the owner's pages and
for its health, and only the one with the clock has the backups.
"""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import Any

from django.core.cache import cache
from django.db import connection

from kitdesk.backups.copies_away import CopiesStanding
from kitdesk.backups.kept import Kept
from kitdesk.backups.standing import BackupStanding, Check, standing_here

_KEY = "standing-of-backups"


def tell_standing() -> None:
    """For the machine with the clock, every minute: tell how its backups stand, or that it makes
    none. One query while nothing changes; none on SQLite.
    """
    if not _has_others():
        return
    stands = standing_here()
    words = None if stands is None else _words(stands)
    if words != cache.get(_KEY):
        cache.set(_KEY, words, None)


def told_standing() -> BackupStanding | None:
    """What was told; None where nothing was. One query; none on SQLite."""
    words = cache.get(_KEY) if _has_others() else None
    return None if words is None else _standing(words)


def _has_others() -> bool:
    """Whether there may be other machines: SQLite serves one."""
    return connection.vendor == "postgresql"


def _words(stands: BackupStanding) -> dict[str, Any]:
    """In plain values: another machine may have another version meanwhile."""
    check, copies = stands.check, stands.copies
    return {
        "folder": str(stands.folder),
        "kept": [
            [kept.day.isoformat(), kept.path.name, kept.size, kept.written_at.isoformat()]
            for kept in stands.kept
        ],
        "check": check and [check.name, check.at.isoformat(), check.fault],
        "failure": stands.failure,
        "copies": copies
        and [copies.place, copies.name, copies.at and copies.at.isoformat(), copies.fault],
    }


def _standing(words: dict[str, Any]) -> BackupStanding:
    folder = Path(words["folder"])
    kept = [
        Kept(date.fromisoformat(day), folder / name, size, datetime.fromisoformat(at))
        for day, name, size, at in words["kept"]
    ]
    check = copies = None
    if words["check"]:
        name, at, fault = words["check"]
        check = Check(name, datetime.fromisoformat(at), fault)
    if words["copies"]:
        place, name, at, fault = words["copies"]
        copies = CopiesStanding(place, name, at and datetime.fromisoformat(at), fault)
    return BackupStanding(folder, kept, check, words["failure"], copies, is_here=False)
