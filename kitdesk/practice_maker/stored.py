"""Rows written in bulk, as the database's driver does it fastest."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from django.core.management.color import no_style
from django.db import connection, models

from .tables import Table

#: Kilobytes of the file that stay in memory meanwhile.
_CACHED = 64_000


@contextmanager
def quickly() -> Iterator[None]:
    """Write without waiting for the disk: a practice that a power cut spoils is made anew."""
    if connection.in_atomic_block:
        # Nothing waits for the disk before the transaction around this ends.
        yield
        return
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET synchronous_commit = off")
            try:
                yield
            finally:
                cursor.execute("RESET synchronous_commit")
        return
    with connection.cursor() as cursor:
        before = [
            (name, cursor.execute(f"PRAGMA {name}").fetchone()[0])
            for name in ("synchronous", "cache_size")
        ]
        cursor.execute("PRAGMA synchronous = OFF")
        cursor.execute(f"PRAGMA cache_size = -{_CACHED}")
        try:
            yield
        finally:
            for name, value in before:
                cursor.execute(f"PRAGMA {name} = {value}")


def write_rows(table: Table, rows: Iterable[Sequence[Any]]) -> None:
    """Write rows whose values stand in the order of the table's columns, inside a transaction."""
    quote = connection.ops.quote_name
    columns = ", ".join(quote(str(field.column)) for field in table._meta.local_concrete_fields)
    into = f"{quote(table._meta.db_table)} ({columns})"
    if connection.vendor == "postgresql":
        with connection.connection.cursor().copy(f"COPY {into} FROM STDIN") as copy:
            for row in rows:
                copy.write_row(row)
        return
    marks = ", ".join("?" * len(table._meta.local_concrete_fields))
    connection.connection.executemany(f"INSERT INTO {into} VALUES ({marks})", rows)  # noqa: S608


def count_on(tables: Iterable[type[models.Model]]) -> None:
    """Have the database give the next rows numbers beyond those that were written."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), list(tables)):
            cursor.execute(statement)
