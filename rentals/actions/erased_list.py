"""The list of erased students beside the desk: by row number and a mark only this desk can make, so
that a backup of before can be erased again.
"""

from __future__ import annotations

import hashlib
import hmac
import json
from collections.abc import Iterable
from pathlib import Path

from django.conf import settings

from rentals.models import Student

LIST = "erased.json"


def note_erased(students: Iterable[int]) -> None:
    """Add students to the desk's list and to its copy beside every backup."""
    noted = {**noted_in(_own_folder() / LIST), **{str(pk): _mark(pk) for pk in students}}
    for folder in (_own_folder(), *backup_folders()):
        write_list(folder, noted)


def note_erased_elsewhere() -> None:
    """Add those whom another machine of this desk has erased: its list is not ours, and the backups
    may be.
    """
    noted = noted_in(_own_folder() / LIST)
    erased = Student.objects.exclude(erased_at=None).values_list("pk", flat=True)
    if lacking := [pk for pk in erased if str(pk) not in noted]:
        note_erased(lacking)


def write_list(folder: Path, noted: dict[str, str]) -> bool:
    """Write the list into a folder, complete or not at all; whether that could be done."""
    target = folder / LIST
    marks = {**noted_in(target), **noted}
    unfinished = target.with_name(LIST + ".part")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        unfinished.write_text(json.dumps({"erased": marks}, indent=1), encoding="utf-8")
        unfinished.replace(target)
    except OSError:
        return False
    return True


def noted_in(path: Path) -> dict[str, str]:
    """The list in a file: marks by row number; empty where there is none."""
    try:
        read = json.loads(path.read_text(encoding="utf-8"))["erased"]
    except (OSError, ValueError, KeyError, TypeError):
        return {}
    return {str(pk): str(mark) for pk, mark in read.items()}


def to_erase_again() -> list[Student]:
    """Students of the list whom this database still knows by name."""
    noted = noted_in(_own_folder() / LIST)
    ours = [int(pk) for pk, mark in noted.items() if hmac.compare_digest(mark, _mark(int(pk)))]
    return list(Student.objects.filter(pk__in=ours, erased_at=None).order_by("pk"))


def not_known_again(folder: Path) -> int:
    """How many the list of a folder names whose marks were made with another key than this desk's,
    and whose number it still knows by name.
    """
    noted = noted_in(folder / LIST)
    strange = [pk for pk, mark in noted.items() if not hmac.compare_digest(mark, _mark(int(pk)))]
    return Student.objects.filter(pk__in=strange, erased_at=None).count()


def remember_backup(folder: Path) -> None:
    """A backup was written here: later erasures are noted beside it too."""
    folders = sorted({str(path) for path in backup_folders()} | {str(folder)})
    _own_folder().mkdir(parents=True, exist_ok=True)
    (_own_folder() / "backups.json").write_text(json.dumps(folders), encoding="utf-8")
    write_list(folder, noted_in(_own_folder() / LIST))


def take_over_list(folder: Path) -> None:
    """The list beside a backup that was put back becomes this desk's too."""
    write_list(_own_folder(), noted_in(folder / LIST))


def backup_folders() -> list[Path]:
    """Where backups were written, as far as those folders are still there."""
    try:
        folders = json.loads((_own_folder() / "backups.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return []
    return [Path(folder) for folder in folders if Path(folder).is_dir()]


def _mark(pk: int) -> str:
    """Proof that the number is one of this desk's: another desk has another key."""
    key = settings.SECRET_KEY.encode()
    return hmac.new(key, f"erased student {pk}".encode(), hashlib.sha256).hexdigest()


def _own_folder() -> Path:
    return Path(settings.KITDESK_ERASURES)
