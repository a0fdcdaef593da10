"""Rows held anew as they stand: after an upgrade those whose columns the log does not hold as they
are now, and all where the desk goes on with another key.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain
from typing import Any

from django.apps.registry import Apps
from django.db import transaction

from rentals.models import LogLine

from .chain import TAKEN_ON, LogFact, append, key_mark
from .tables import SealedTable, log_key, sealed_tables


def open_after_migrating(using: str, apps: Apps | None = None, **_: Any) -> None:
    """A receiver of `post_migrate`. A database that was brought to an older step is left alone."""
    tables = sealed_tables()
    if using != "default" or not _is_of_today(tables, apps):
        return
    with transaction.atomic():
        lines = LogLine.objects.filter(row=0, table__in=[table.name for table in tables])
        known = dict(lines.order_by("position").values_list("table", "digest"))
        new = [table for table in tables if known.get(table.name) != table.columns_digest]
        if new:
            append(chain.from_iterable(_opening(table) for table in new))


def take_on_key() -> None:
    """Go on with the key that this desk has now, as its owner decided. Earlier lines stay; without
    the key that wrote them nobody can check them.
    """
    taken_on = LogFact(TAKEN_ON, 0, key_mark(log_key()))
    with transaction.atomic():
        append(chain([taken_on], *(_opening(table) for table in sealed_tables())))


def _opening(table: SealedTable) -> Iterator[LogFact]:
    yield LogFact(table.name, 0, table.columns_digest)
    for row, digest in table.digests():
        yield LogFact(table.name, row, digest)


def _is_of_today(tables: list[SealedTable], apps: Apps | None) -> bool:
    if apps is None:
        return True
    try:
        found = {table: apps.get_model(table.name) for table in tables}
        apps.get_model("rentals.logline")
    except LookupError:
        return False
    return all(
        {field.attname for field in model._meta.local_concrete_fields}
        == {field.attname for field in table.model._meta.local_concrete_fields}
        for table, model in found.items()
    )
