"""Bringing the database up to date is done by one process at a time, on however many machines."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from django.db import connection

#: Any number of our own that nothing else locks in this database.
_LOCK = 0x6B697464


@contextmanager
def alone_at_tables(say: Callable[[str], object]) -> Iterator[None]:
    """Wait until no other machine is at it, and keep them waiting; `say` is told where one waits.

    The lock is PostgreSQL's, held by a connection of its own: it is let go of when this process
    dies, and lasts when the one that all else goes over is closed meanwhile. On SQLite, which
    serves one machine, nothing is locked.
    """
    if connection.vendor != "postgresql":
        yield
        return
    own = connection.copy()
    try:
        with own.cursor() as cursor:
            cursor.execute("SELECT pg_try_advisory_lock(%s)", [_LOCK])
            if not cursor.fetchone()[0]:
                say("Another machine prepares this database; waiting for it ...")
                cursor.execute("SELECT pg_advisory_lock(%s)", [_LOCK])
        yield
    finally:
        own.close()
