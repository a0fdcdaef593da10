"""Whether what the desk keeps is safe: disks, backups, the history."""

from __future__ import annotations

import shutil
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings

from kitdesk.backups import daily
from kitdesk.backups.standing import folder_of_backups
from rentals.counts import counted
from rentals.models import Verification

from .findings import Condition, DeskFinding, time_words

MB = 1_000_000
#: Below this a day of photos and captures may fill the disk; below the other nothing is taken in.
NEARLY_FULL_BYTES, FULL_BYTES = 1000 * MB, 50 * MB
#: Verifying happens once a week; so much later something keeps it from happening.
VERIFIED_WITHIN = timedelta(days=15)


def disk() -> DeskFinding:
    """What is left where data and backups lie. No query."""
    data_left = free_bytes(Path(settings.VAR))
    numbers: dict[str, float | int | None] = {"data_free_bytes": data_left}
    least, where = data_left, "where the desk's data lie"
    folder = folder_of_backups()
    if folder is not None:
        backups_left = numbers["backups_free_bytes"] = free_bytes(folder)
        if backups_left < least:
            least, where = backups_left, "where the backups lie"
    sentence = f"{_size_words(least)} are left {where}."
    if least >= NEARLY_FULL_BYTES:
        return DeskFinding("disk", "Disk", Condition.OK, sentence, numbers=numbers)
    condition = Condition.FAILED if data_left < FULL_BYTES else Condition.WARNING
    return DeskFinding(
        "disk",
        "Disk",
        condition,
        f"The disk is nearly full: {sentence}",
        "Make room on that disk, or move the folder to a larger one: KITDESK_VAR, KITDESK_BACKUPS.",
        numbers,
        pressing=True,
    )


def _size_words(size: int) -> str:
    return f"{size // (1000 * MB)} GB" if size >= 10_000 * MB else f"{size // MB} MB"


def free_bytes(folder: Path) -> int:
    """Bytes left for the desk's account where the folder is, or will be."""
    while not folder.exists() and folder != folder.parent:
        folder = folder.parent
    return shutil.disk_usage(folder).free


def backup(now: datetime) -> DeskFinding:
    """The newest backup, and what came of trying one. On PostgreSQL one query, where this machine
    has none of late.
    """
    stands = daily.standing()
    if stands is None:
        said = "This desk makes no backups by itself."
        return DeskFinding("backup", "Backups", Condition.OK, said, way="backups")
    numbers: dict[str, float | int | None] = {"newest_backup_age_s": None, "backups": 0}
    if stands.last is not None:
        age_s = (now - stands.last.written_at).total_seconds()
        numbers = {"newest_backup_age_s": round(age_s, 1), "backups": len(stands.kept)}
    if stands.check is not None:
        numbers["checked_age_s"] = round((now - stands.check.at).total_seconds(), 1)
    has_fault = stands.check is not None and bool(stands.check.fault)
    if has_fault:
        sentence = "The last backup that was tried could not be put back."
    elif stands.last is None:
        sentence = "There is no backup yet."
    else:
        sentence = f"The newest backup is {time_words(age_s)} old."
    if stands.check is None:
        sentence += " None was tried yet."
    is_bad = has_fault or stands.is_late(now)
    condition = Condition.WARNING if is_bad else Condition.OK
    advice = "The page of backups says why, and makes one at once." if is_bad else ""
    return DeskFinding("backup", "Backups", condition, sentence, advice, numbers, way="backups")


def verified(now: datetime) -> DeskFinding:
    """When the history was last held against its log. One query."""
    last = Verification.objects.order_by("-pk").first()
    title = "The history"
    if last is None:
        sentence = "The history was never verified."
        return DeskFinding("verify", title, Condition.WARNING, sentence, _VERIFY, {"age_s": None})
    age_s = (now - last.at).total_seconds()
    numbers: dict[str, float | int | None] = {"age_s": round(age_s, 1), "faults": last.faults}
    when = f"{time_words(age_s)} ago"
    if last.faults:
        faults = counted(last.faults, "fault was", "faults were")
        return DeskFinding(
            "verify",
            title,
            Condition.WARNING,
            f"The history was verified {when}, and {faults} found.",
            "python3 manage.py verify names each with its row. Keep the backups of before.",
            numbers,
            pressing=True,
        )
    what = "A backup's history" if last.of_backup else "The history"
    sentence = f"{what} was verified {when} and is in order."
    if now - last.at > VERIFIED_WITHIN:
        return DeskFinding("verify", title, Condition.WARNING, sentence, _VERIFY, numbers)
    return DeskFinding("verify", title, Condition.OK, sentence, numbers=numbers)


_VERIFY = "A worker with the clock does it once a week; python3 manage.py verify does it now."
