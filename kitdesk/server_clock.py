"""Processor time that a database server took for this desk's connection, where it can be seen: for
PostgreSQL on this machine, on Linux. SQLite works within the desk's own process.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from pathlib import Path

from django.db import connection

_HERE = ("127.0.0.1", "::1", "")


def server_clock() -> Callable[[], float] | None:
    """Seconds that the connection's own process of the server has taken so far, to the nanosecond;
    parallel helpers that it may start are not in them. None where there is no server, or none that
    can be seen from here. Holds for as long as the connection stays open.
    """
    if connection.vendor != "postgresql":
        return None
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_backend_pid(), coalesce(host(inet_server_addr()), '')")
        process, address = cursor.fetchone()
    if address not in _HERE or not _is_server(process) or os.name != "posix":
        return None
    # What clock_getcpuclockid(3) gives on Linux; Python has no name for it.
    clock = (~process << 3) | 2
    return lambda: time.clock_gettime(clock)


def _is_server(process: int) -> bool:
    """A server in a container of its own counts processes by itself: the number may be another's
    here.
    """
    try:
        return Path(f"/proc/{process}/comm").read_text(encoding="utf-8").strip() == "postgres"
    except OSError:
        return False
