"""Whether this desk is at work: every process that serves or does its jobs holds a mark in the data
folder, which the system lets go when the process ends, however that was.

Whoever puts a whole desk in place asks first: a process that is at work would go on writing into
what has been taken away beneath it.
"""

from __future__ import annotations

import contextlib
import os
import time
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings
from django.db import connection

from kitdesk.backups.problems import NotPossible

try:
    import fcntl
except ImportError:  # Windows has no such locks, and keeps an open database from being moved.
    fcntl = None  # type: ignore[assignment]

MARK = "at-work.lock"
AT_WORK = (
    "This desk is at work. Stop all of it first: `start`, or its servers and workers. Then try"
    " again. Nothing was changed."
)
#: Of each data folder the open file, which nobody closes.
_held: dict[Path, int] = {}


def say_at_work() -> None:
    """Hold the mark until this process ends."""
    place = settings.VAR / MARK
    if fcntl is None or place in _held:
        return
    settings.VAR.mkdir(parents=True, exist_ok=True)
    mark = _held[place] = os.open(place, os.O_RDWR | os.O_CREAT, 0o600)
    fcntl.flock(mark, fcntl.LOCK_SH)


@contextlib.contextmanager
def nobody_at_work() -> Iterator[None]:
    """Keep whoever would begin to work waiting until the end of the block.

    Raises NotPossible where this desk is at work: on this machine, or, with a database of its own
    server, by a worker on another one.
    """
    if connection.vendor == "postgresql" and _a_worker_lives():
        raise NotPossible(f"{AT_WORK} Workers count as stopped after a minute and a half.")
    if fcntl is None:
        yield
        return
    settings.VAR.mkdir(parents=True, exist_ok=True)
    with (settings.VAR / MARK).open("a") as mark:
        try:
            fcntl.flock(mark, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as held:
            raise NotPossible(AT_WORK) from held
        yield


def _a_worker_lives() -> bool:
    # It needs the models, and a server says that it is at work before they are loaded.
    from kitdesk.lasting_worker import DEAD_AFTER_S, newest_beat

    if "kitdesk_cache" not in connection.introspection.table_names():
        return False
    last = newest_beat()
    return last is not None and last > time.time() - DEAD_AFTER_S
