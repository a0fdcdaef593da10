"""What the desk keeps belongs to the account that runs it: no other account of the machine reads
signing key, database, mails, captures, pictures or backups.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings

_FILE, _FOLDER = 0o600, 0o700
_OTHERS = 0o077
#: What the desk itself writes into a folder of backups, which may hold more than that.
_BESIDE_BACKUPS = ("kitdesk-*", "checked.json", "failed.json", "away.json", "erased.json")


def write_for_oneself_only() -> None:
    """Files and folders that this process makes from now on are its account's alone. Said by every
    entry before anything is written; what is started from there inherits it.
    """
    os.umask(_OTHERS)


def make_private() -> None:
    """Take from all others what they may do with the desk's files and folders. What belongs to
    another account stays as it is; `check` names it.
    """
    for path in _all_paths():
        _close(path)


def open_to_others() -> list[Path]:
    """Those places of the desk that other accounts may enter or read. Nobody reaches what lies in a
    closed folder.
    """
    if os.name == "nt":
        return []
    folders = _roots()
    closed = [folder for folder in folders if not _mode(folder) & _OTHERS]
    places = [*folders, *Path(settings.VAR).glob("*"), *_backups()]
    return [
        path
        for path in dict.fromkeys(places)
        if _mode(path) & _OTHERS and not any(folder in path.parents for folder in closed)
    ]


def _roots() -> list[Path]:
    """Folders that are the desk's alone."""
    own = (settings.VAR, settings.KITDESK_OUTBOX, settings.MEDIA_ROOT)
    return [Path(folder) for folder in own]


def _all_paths() -> Iterator[Path]:
    for root in _roots():
        yield root
        for folder, folders, files in os.walk(root):
            yield from (Path(folder) / name for name in (*folders, *files))
    yield from _backups()


def _backups() -> Iterator[Path]:
    folder = settings.KITDESK_BACKUPS
    if folder is not None:
        for pattern in _BESIDE_BACKUPS:
            yield from sorted(Path(folder).glob(pattern))


def _mode(path: Path) -> int:
    """The rights of a file or folder; none where there is nothing."""
    with contextlib.suppress(OSError):
        return path.stat().st_mode
    return 0


def _close(path: Path) -> None:
    with contextlib.suppress(OSError):
        if not path.is_symlink() and path.stat().st_mode & _OTHERS:
            path.chmod(_FOLDER if path.is_dir() else _FILE)
