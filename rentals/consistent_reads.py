"""Everything that is read inside is of one moment, while the desk goes on working."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection, transaction


@contextmanager
def one_view() -> Iterator[None]:
    """Reads inside see the database as it is at the first of them, and write nothing; nobody waits
    meanwhile. Inside a transaction it is that one's view.
    """
    if connection.in_atomic_block:
        yield
        return
    if connection.vendor == "postgresql":
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
        return
    # Django's own transaction would take SQLite's lock for writing.
    with connection.cursor() as cursor:
        cursor.execute("BEGIN DEFERRED")
        try:
            yield
        finally:
            cursor.execute("ROLLBACK")
