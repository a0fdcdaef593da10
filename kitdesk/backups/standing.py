"""How the backups of a desk stand, as their folder tells it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings

from kitdesk.backups.copies_away import CopiesStanding, copies_standing
from kitdesk.backups.kept import Kept, kept_in, read_words

#: Files beside the backups: what came of trying one, and why none could be made.
CHECKED, FAILED = "checked.json", "failed.json"
#: Backups should be no older than this.
LATE_AFTER = timedelta(hours=36)
#: The folder's clock may be another machine's.
CLOCKS_APART = timedelta(minutes=5)


@dataclass(frozen=True)
class Check:
    """The last backup that was put back into a scratch place: its name, when, and what was wrong
    with it, empty where nothing was.
    """

    name: str
    at: datetime
    fault: str


@dataclass(frozen=True)
class BackupStanding:
    """How this desk's backups stand: all that are kept, newest first; the last check; why none
    could be made today, empty where one could; and their copies in a store, where there is one.
    Not `is_here` where another machine has the folder.
    """

    folder: Path
    kept: list[Kept]
    check: Check | None
    failure: str
    copies: CopiesStanding | None = None
    is_here: bool = True

    @property
    def last(self) -> Kept | None:
        """The newest one."""
        return self.kept[0] if self.kept else None

    def last_before(self, now: datetime) -> Kept | None:
        """The newest one, without those that are dated ahead: the clock was set back since."""
        return next((kept for kept in self.kept if kept.written_at <= now), None)

    def is_late(self, now: datetime) -> bool:
        """Whether the newest one is too old, or there is none."""
        last = self.last_before(now + CLOCKS_APART)
        return last is None or now - last.written_at > LATE_AFTER

    def is_fresher_than(self, other: BackupStanding | None) -> bool:
        """Whether it tells of a newer backup, or the other of nothing at all."""
        if other is None or other.last is None:
            return other is None or self.last is not None
        return self.last is not None and self.last.written_at > other.last.written_at


def folder_of_backups() -> Path | None:
    """Where they go; None where this machine makes none."""
    return settings.KITDESK_BACKUPS


def standing_here() -> BackupStanding | None:
    """What this machine's folder tells; None where it makes none. No query, some files."""
    folder = folder_of_backups()
    if folder is None:
        return None
    failed = read_words(folder / FAILED)
    checked = read_words(folder / CHECKED)
    check = None
    if checked:
        check = Check(checked["name"], datetime.fromisoformat(checked["at"]), checked["fault"])
    failure = failed.get("words", "")
    return BackupStanding(folder, kept_in(folder), check, failure, copies_standing(folder))
