"""Students who were erased after a backup was made, erased again once it is put back."""

from __future__ import annotations

from pathlib import Path

from rentals.actions.erased_list import take_over_list
from rentals.actions.retention import keep_no_longer


def erase_again(folder: Path) -> int:
    """Erase in the restored desk whom the list beside the backup names, and whose time is up;
    returns how many. Whose loan is open in the backup follows by `tick` once it is settled.
    """
    take_over_list(folder)
    erased = 0
    while done := keep_no_longer().students:
        erased += done
    return erased
