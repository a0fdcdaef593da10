"""Students who were erased after a backup was made, erased again once it is put back."""

from __future__ import annotations

from pathlib import Path

from rentals.actions.erased_list import not_known_again, take_over_list
from rentals.actions.retention import keep_no_longer
from rentals.counts import counted


def erase_again(folder: Path) -> int:
    """Erase in the restored desk whom the list beside the backup names, and whose time is up;
    returns how many. Whose loan is open in the backup follows by `tick` once it is settled.
    """
    take_over_list(folder)
    erased = 0
    while done := keep_no_longer().students:
        erased += done
    return erased


def unknown_erased(folder: Path) -> str:
    """A sentence where the list beside a backup or an export names students that this desk cannot
    know again, since it signs with another key; else empty.
    """
    number = not_known_again(folder)
    if not number:
        return ""
    students = counted(number, "student was", "students were")
    return (
        f"{students} erased since then, but this desk has another signing key and cannot tell whom."
        " Put secret.key of the old desk into this one's data folder and run `python3 manage.py"
        " tick`, or erase them once more by hand."
    )
