"""The numbers that the database gave last, table by table: a number that was given once, and whose
row is gone, is not given again in the new house.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from django.db import connection
from django.db.models import AutoField, Model


def counters(models: Iterable[type[Model]]) -> dict[str, int]:
    """The last number by table, or that of its highest row where somebody gave that by hand; tables
    that never had one are left out.
    """
    last = {
        model._meta.db_table: max(_last_number(model), _highest_row(model))
        for model in models
        if isinstance(model._meta.pk, AutoField)
    }
    return {table: number for table, number in last.items() if number}


def set_counters(models: Iterable[type[Model]], told: Mapping[str, int]) -> None:
    """Have every table count on from what was told, or from its highest row where that is more."""
    for model in models:
        if isinstance(model._meta.pk, AutoField):
            last = max(_highest_row(model), told.get(model._meta.db_table, 0))
            if last:
                _count_from(model, last)


def _highest_row(model: type[Model]) -> int:
    return model._base_manager.order_by("-pk").values_list("pk", flat=True).first() or 0


def _last_number(model: type[Model]) -> int:
    table, column = model._meta.db_table, model._meta.pk.column
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SELECT pg_get_serial_sequence(%s, %s)", [table, column])
            (sequence,) = cursor.fetchone()
            last = "CASE WHEN is_called THEN last_value ELSE 0 END"
            # The name is the database's own answer, quoted as it must be.
            cursor.execute(f"SELECT {last} FROM {sequence}")  # noqa: S608
        else:
            cursor.execute("SELECT seq FROM sqlite_sequence WHERE name = %s", [table])
        row = cursor.fetchone()
    return int(row[0]) if row else 0


def _count_from(model: type[Model], last: int) -> None:
    table, column = model._meta.db_table, model._meta.pk.column
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            words = "SELECT setval(pg_get_serial_sequence(%s, %s), %s)"
            cursor.execute(words, [table, column, last])
            return
        cursor.execute("UPDATE sqlite_sequence SET seq = %s WHERE name = %s", [last, table])
        if not cursor.rowcount:
            cursor.execute("INSERT INTO sqlite_sequence (name, seq) VALUES (%s, %s)", [table, last])
