"""After a test with transactions of its own: the database as it was before the first test.

Django empties all tables, whatever they hold, and does again all that follows a migration. Most of
a hundred tables are empty, and what migrations put in is still there; only the rest is emptied.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from django.conf import settings
from django.contrib.contenttypes.models import ContentType
from django.db import connection, transaction
from django.db.backends.utils import CursorWrapper
from django.test import TransactionTestCase

from rentals import ledger_guard
from rentals.models import TableMark

LEDGER = "rentals_entry"
_TRIGGERS = {
    "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger' ORDER BY name",
    "postgresql": "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal ORDER BY tgname",
}
Rows = list[Sequence[Any]]


def take_guard_down() -> None:
    """Drop the triggers that SQLite guards the ledger with, as rebuilding its table does."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger' AND name LIKE 'ledger%'"
        )
        for (name,) in cursor.fetchall():
            cursor.execute(f"DROP TRIGGER {name}")


class Beginning:
    """What the tables hold before the first test."""

    def __init__(self) -> None:
        tables = connection.introspection.django_table_names(
            only_existing=True, include_views=False
        )
        # Marks are drawn anew by whatever is emptied and filled, and never come again.
        tables = [table for table in tables if table != TableMark._meta.db_table]
        # No model tells of the caches' tables: what one test kept there would meet the next.
        self._tables = tables + [cache["LOCATION"] for cache in settings.CACHES.values()]
        with connection.cursor() as cursor:
            self._triggers = _triggers(cursor)
            filled = _filled(cursor, self._tables)
            self._rows = {table: _rows(cursor, table) for table in filled}

    def restore(self, django_empties: Callable[[], None]) -> None:
        """Have them hold that again. Where a test took guards of the tables down, as moving through
        the migrations does, Django empties them first, which puts the guards up.
        """
        with connection.cursor() as cursor:
            if _triggers(cursor) != self._triggers:
                if connection.vendor == "sqlite":
                    take_guard_down()
                django_empties()
            with transaction.atomic():
                self._restore(cursor)

    def _restore(self, cursor: CursorWrapper) -> None:
        filled = _filled(cursor, self._tables)
        other = [
            table
            for table in {*filled, *self._rows}
            if table not in self._rows or _rows(cursor, table) != self._rows[table]
        ]
        if LEDGER in other:
            _open_ledger(cursor)
        for table in other:
            cursor.execute(f"DELETE FROM {connection.ops.quote_name(table)}")
        for table in self._rows.keys() & set(other):
            rows = self._rows[table]
            one = ", ".join(["%s"] * len(rows[0]))
            into = connection.ops.quote_name(table)
            cursor.executemany(f"INSERT INTO {into} VALUES ({one})", rows)
        if LEDGER in other:
            _close_ledger(cursor)
        if ContentType._meta.db_table in other:
            ContentType.objects.clear_cache()


def _triggers(cursor: CursorWrapper) -> Rows:
    cursor.execute(_TRIGGERS[connection.vendor])
    return list(cursor.fetchall())


def _filled(cursor: CursorWrapper, tables: list[str]) -> list[str]:
    """Those of the tables that hold any row."""
    asked = [f"EXISTS (SELECT 1 FROM {connection.ops.quote_name(table)})" for table in tables]
    cursor.execute("SELECT " + ", ".join(asked))
    return [table for table, some in zip(tables, cursor.fetchone(), strict=True) if some]


def _rows(cursor: CursorWrapper, table: str) -> Rows:
    cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)} ORDER BY 1")
    return list(cursor.fetchall())


def _open_ledger(cursor: CursorWrapper) -> None:
    if connection.vendor == "sqlite":
        take_guard_down()
    else:
        cursor.execute(f"ALTER TABLE {LEDGER} DISABLE TRIGGER USER")


def _close_ledger(cursor: CursorWrapper) -> None:
    if connection.vendor == "sqlite":
        ledger_guard.put_up()
    else:
        # What is still to be checked would keep the table from being altered.
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        cursor.execute(f"ALTER TABLE {LEDGER} ENABLE TRIGGER USER")


def empty_as_at(beginning: Beginning) -> Callable[[TransactionTestCase], None]:
    """What is to stand for Django's own emptying."""
    djangos = TransactionTestCase._fixture_teardown

    def emptied(case: TransactionTestCase) -> None:
        beginning.restore(lambda: djangos(case))

    return emptied
