"""A backup each day into a folder, the old ones rotated, and what is known of them."""

from __future__ import annotations

import json
import logging
import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.utils import timezone

from kitdesk.backups import copies_away
from kitdesk.backups.kept import kept_in, read_words
from kitdesk.backups.problems import NotPossible
from kitdesk.backups.rotation import days_to_keep
from kitdesk.backups.standing import (
    CHECKED,
    CLOCKS_APART,
    FAILED,
    LATE_AFTER,
    BackupStanding,
    folder_of_backups,
    standing_here,
)
from kitdesk.backups.told import told_standing
from kitdesk.backups.whole_desk import Archive, write_backup

log = logging.getLogger("kitdesk.backup")

_LOCK = ".at-work"
#: After so long one that is at work has died, or its machine has.
_LOCK_LASTS = 6 * 3600
#: A backup that could not be made is tried again after so long.
AGAIN_AFTER = timedelta(hours=1)


def standing() -> BackupStanding | None:
    """What the folder tells or, where that is late, what another machine has told of its own, if
    that is fresher; None where this desk makes none by itself. Some files; one query where the
    folder is late, but on SQLite.
    """
    here = standing_here()
    if here is not None and not here.is_late(timezone.now()):
        return here
    told = told_standing()
    return told if told is not None and told.is_fresher_than(here) else here


def warning(now: datetime, desk_since: datetime) -> str:
    """What is wrong with the backups, in a sentence; empty where nothing is. A desk of yesterday is
    given a day before none is too few.
    """
    stands = standing()
    if stands is None:
        return ""
    last = stands.last_before(now + CLOCKS_APART)
    since = last.written_at if last else desk_since
    if stands.check and stands.check.fault:
        return f"The backup {stands.check.name} could not be put back when it was tried."
    if now - since <= LATE_AFTER:
        fault = stands.copies.fault if stands.copies else ""
        return f"The last backup is here, but not in the store: {fault}" if fault else ""
    days = (now - since).days
    age = "for a day and a half" if days < 2 else f"for {days} days"
    why = f" The last try: {stands.failure}" if stands.failure else ""
    return f"No backup was made {age}.{why}"


def keep_daily_backup(now: datetime | None = None) -> Archive | None:
    """Make today's backup if there is none, clear away those that are not kept any longer, and
    bring a copy to the store where there is one.

    Safe to call every minute and from several processes. What goes wrong is logged, shown and tried
    again an hour later; the backups of the days before stay as they are. Returns what was made.
    """
    folder, now = folder_of_backups(), now or timezone.now()
    if folder is None:
        return None
    made = _make_due(folder, now)
    if copies_away.is_due(folder, kept_in(folder), now):
        with _alone(folder) as is_alone:
            if is_alone:
                copies_away.bring(folder, kept_in(folder), now)
    return made


def _make_due(folder: Path, now: datetime) -> Archive | None:
    if not _is_due(folder, now):
        return None
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        with _alone(folder) as is_alone:
            if not is_alone:
                return None
            made = make_backup(folder, now)
    except (NotPossible, OSError) as problem:
        _note_failure(folder, now, str(problem))
        return None
    _rotate(folder, timezone.localdate(now))
    return made


def make_backup(folder: Path, now: datetime) -> Archive:
    """Write the backup of the day; one of the same day is replaced once the new one is whole.

    Raises NotPossible.
    """
    phrase = settings.KITDESK_BACKUP_PHRASE
    ending = "sealed" if phrase else "zip"
    target = folder / f"kitdesk-{timezone.localdate(now).isoformat()}.{ending}"
    fresh = target.with_name(target.name + ".new")
    fresh.unlink(missing_ok=True)
    made = write_backup(fresh, phrase)
    fresh.replace(target)
    (folder / FAILED).unlink(missing_ok=True)
    return made


def note_check(name: str, fault: str, now: datetime | None = None) -> None:
    """Write down that a backup was put back and looked over."""
    folder = folder_of_backups()
    if folder is not None and folder.is_dir():
        words = {"name": name, "at": (now or timezone.now()).isoformat(), "fault": fault}
        (folder / CHECKED).write_text(json.dumps(words))


def _is_due(folder: Path, now: datetime) -> bool:
    failed = read_words(folder / FAILED)
    if failed and abs(now - datetime.fromisoformat(failed["at"])) < AGAIN_AFTER:
        return False
    return timezone.localdate(now) not in {kept.day for kept in kept_in(folder)}


def _rotate(folder: Path, today: date) -> None:
    """Those of days to come were made before the clock was set back: they stay and push none out
    until then.
    """
    kept = [backup for backup in kept_in(folder) if backup.day <= today]
    staying = days_to_keep(backup.day for backup in kept)
    for backup in kept:
        if backup.day not in staying:
            backup.path.unlink(missing_ok=True)


def _note_failure(folder: Path, now: datetime, words: str) -> None:
    log.error("No backup today: %s", words)
    try:
        (folder / FAILED).write_text(json.dumps({"at": now.isoformat(), "words": words}))
    except OSError:
        log.exception("Nor can that be written down in %s", folder)


@contextmanager
def _alone(folder: Path) -> Iterator[bool]:
    """True for one process at a time; a lock left by one that died is taken over after hours."""
    lock = folder / _LOCK
    try:
        if abs(time.time() - lock.stat().st_mtime) > _LOCK_LASTS:
            lock.unlink(missing_ok=True)
    except FileNotFoundError:
        pass
    try:
        os.close(os.open(lock, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    except FileExistsError:
        yield False
        return
    try:
        yield True
    finally:
        lock.unlink(missing_ok=True)
