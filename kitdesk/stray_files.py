"""Files that no row names: left behind where a process was killed between storing the bytes of an
upload and writing its row.
"""

from __future__ import annotations

import logging
from datetime import datetime, timedelta
from typing import Any

from django.core.cache import cache
from django.core.files.storage import default_storage
from django.utils import timezone

from kitdesk.file_move import names_in_rows

log = logging.getLogger(__name__)
#: The folders that uploads go to. The place itself may be shared with other things.
FOLDERS = ("captures/", "student-captures/", "damage/")
#: An upload takes minutes at most from its bytes to its row.
OLDER_THAN = timedelta(days=1)
_EVERY_S = 24 * 3600
_DONE = "stray-files-cleared"


def clear_stray_files_daily() -> int:
    """Clear them unless that was done within a day, on whichever machine; how many. A place that
    is away is looked at again a day later.
    """
    # Asked first: PostgreSQL writes each key that is there already into its log as an error.
    if cache.get(_DONE) or not cache.add(_DONE, True, _EVERY_S):
        return 0
    try:
        return clear_stray_files(timezone.now())
    except OSError as problem:
        log.warning("Files that no row names could not be looked for: %s", problem)
        return 0


def clear_stray_files(now: datetime) -> int:
    """Delete what no row names and what has lain there for more than a day; how many. Raises
    OSError.
    """
    storage: Any = default_storage  # One of ours, which can do more than Django asks.
    # Names never come back: what no row names after this list was made, none will.
    unnamed = {name for name in storage.names() if name.startswith(FOLDERS)}
    unnamed.difference_update(names_in_rows())
    stray = [name for name in unnamed if storage.get_modified_time(name) < now - OLDER_THAN]
    for name in stray:
        storage.delete(name)
    return len(stray)
