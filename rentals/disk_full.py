"""Telling a full disk from whatever else goes wrong."""

from __future__ import annotations

import errno

from django.db.utils import DatabaseError

_NUMBERS = (errno.ENOSPC, errno.EDQUOT)
#: What SQLite says of it, and what PostgreSQL calls it (SQLSTATE).
_SQLITE, _POSTGRES = "disk is full", "53100"

DISK_FULL = (
    "The disk of this desk is full, so nothing was changed. Make room on it, then press again: what"
    " you entered is still here."
)


def is_disk_full(problem: BaseException | None) -> bool:
    """Whether a full disk, or a quota that is used up, is what went wrong or what led to it."""
    while problem is not None:
        if isinstance(problem, OSError) and problem.errno in _NUMBERS:
            return True
        if isinstance(problem, DatabaseError) and _SQLITE in str(problem).lower():
            return True
        if getattr(problem, "sqlstate", None) == _POSTGRES:
            return True
        problem = problem.__cause__ or problem.__context__
    return False
