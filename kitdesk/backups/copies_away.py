"""The backups once more, in an S3-compatible store: put there after they are made, and rotated
there by themselves. What is lost here is never cleared away there.
"""

from __future__ import annotations

import json
import logging
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.files import File
from django.core.files.storage import storages
from django.utils import timezone

from kitdesk.backups.kept import Kept, day_of, read_words
from kitdesk.backups.rotation import days_to_keep
from kitdesk.file_place import COPIES, PLACE
from rentals.actions.erased_list import LIST as ERASED
from rentals.store_away import StoreAway

log = logging.getLogger("kitdesk.backup")
_TOLD = "away.json"
#: What the store did not take is brought again after so long.
_AGAIN_AFTER = timedelta(hours=1)


@dataclass(frozen=True)
class CopiesStanding:
    """How the copies stand: where they are, which came last and when it was brought, and why the
    last try failed, empty where it did not.
    """

    place: str
    name: str
    at: datetime | None
    fault: str


def copies_standing(folder: Path) -> CopiesStanding | None:
    """What the folder of backups tells of them; None where there is no store for them."""
    if "backups" not in settings.STORAGES:
        return None
    options, told = settings.STORAGES["backups"]["OPTIONS"], read_words(folder / _TOLD)
    at = datetime.fromisoformat(told["at"]) if told else None
    place = f"{options['bucket_name']}/{options['location']}".rstrip("/")
    return CopiesStanding(place, told.get("name", ""), at, told.get("fault", ""))


def is_due(folder: Path, kept: list[Kept], now: datetime) -> bool:
    """Whether something is to be brought. Reads one small file."""
    if not kept or "backups" not in settings.STORAGES:
        return False
    told = read_words(folder / _TOLD)
    if told.get("fault"):
        return abs(now - datetime.fromisoformat(told["at"])) >= _AGAIN_AFTER
    return told.get("mark") != _mark(kept[0])


def bring(folder: Path, kept: list[Kept], now: datetime) -> None:
    """Bring the newest backup, and all others that the store lacks, then clear away there what is
    not kept any longer. What goes wrong is logged, shown and tried again an hour later.
    """
    newest, fault = kept[0], ""
    try:
        _bring(folder, kept, timezone.localdate(now))
    except (StoreAway, OSError) as problem:
        fault = str(problem).replace(PLACE, COPIES)
        log.error("No copy of the backup in the store: %s", fault)
    words = {"name": newest.path.name, "mark": _mark(newest), "at": now.isoformat(), "fault": fault}
    try:
        (folder / _TOLD).write_text(json.dumps(words))
    except OSError:
        log.exception("Nor can that be written down in %s", folder)


def _bring(folder: Path, kept: list[Kept], today: date) -> None:
    store: Any = storages["backups"]
    there = set(store.names())
    staying = _staying([*there, *(backup.path.name for backup in kept)], today)
    wanted = [backup.path for backup in kept if backup.path.name in staying]
    fresh = [path for path in wanted if path.name not in there or path == kept[0].path]
    for path in (*fresh, folder / ERASED):
        if path.is_file():
            with path.open("rb") as stream:
                store.put(path.name, File(stream, path.name))
    for name in sorted(there):
        if day_of(name) and name not in staying:
            store.delete(name)


def _staying(names: Iterable[str], today: date) -> set[str]:
    """Those of days to come stay too, and push none out: the clock was set back."""
    days: dict[str, date] = {name: day for name in names if (day := day_of(name))}
    staying = days_to_keep(day for day in days.values() if day <= today)
    return {name for name, day in days.items() if day in staying or day > today}


def _mark(backup: Kept) -> str:
    """Changes where the backup of the day is made anew."""
    return f"{backup.path.name} {backup.written_at.isoformat()}"
