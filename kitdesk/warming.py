"""What Today rests on, worked out before somebody waits for it: each process that answers keeps the
facts of past loans in memory, and reading them first takes seconds at a large desk.
"""

from __future__ import annotations

import gc
import logging
import threading

from django.conf import settings
from django.db import DatabaseError, connection
from django.urls import get_resolver
from django.utils import timezone

LOOK_EVERY_S = 30.0
"""How long after midnight the new day's facts are read at the latest."""

_log = logging.getLogger(__name__)


def keep_warm(stopped: threading.Event) -> None:
    """Read the facts of a day as it begins, day after day until stopped."""
    known = None
    while not stopped.is_set():
        today = timezone.localdate()
        if today != known and _warmed():
            known = today
        stopped.wait(LOOK_EVERY_S)


def start_warming() -> None:
    """Keep this process warm beside its answering, as long as it lives; not where the settings
    turn it off, as those of the tests do.
    """
    if not getattr(settings, "KITDESK_WARMING", True):
        return
    name, never = "warming", threading.Event()
    threading.Thread(target=keep_warm, args=[never], name=name, daemon=True).start()


def read_the_day() -> None:
    """Read the facts of today and keep them out of the way of the collector of garbage: looking
    through thousands of them time and again would make pages wait that have nothing to do with
    them.
    """
    # Not sooner: a server's entry point reads this file before Django has its models.
    from rentals.selectors.today import work_today

    # The first page would wait for all views to be imported.
    assert get_resolver().url_patterns
    work_today(timezone.localdate())
    gc.unfreeze()
    gc.collect()
    gc.freeze()


def _warmed() -> bool:
    """Whether it could be read; a database that is away is asked again later."""
    try:
        read_the_day()
    except DatabaseError as problem:
        _log.warning("The day's work could not be read yet: %s", problem)
        return False
    finally:
        connection.close()
    return True
