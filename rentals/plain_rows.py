"""Rows of large reads as the driver has them, past what Django does for each."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import chain
from typing import Any

from django.core.exceptions import EmptyResultSet
from django.db import connection
from django.db.models import Field, QuerySet

#: Rows at a time. SQLite's come from this very process: a few stay near the processor until they
#: are looked at, which is quicker than fewer calls. A server is asked less often.
_FEW, _MANY = 100, 2000


def plain_rows(rows: QuerySet[Any, Any]) -> Iterator[tuple[Any, ...]]:
    """The rows of a `values_list`; memory stays flat. Nothing is converted: amounts of SQLite are
    numbers (see `reader`), its JSON is text, and a moment must not stand bare.
    """
    return chain.from_iterable(_chunks(rows))


def _chunks(rows: QuerySet[Any, Any]) -> Iterator[list[tuple[Any, ...]]]:
    try:
        query = rows.query.sql_with_params()
    except EmptyResultSet:
        # Asked for rows of nothing.
        return
    size = _FEW if connection.vendor == "sqlite" else _MANY
    with connection.chunked_cursor() as cursor:
        cursor.execute(*query)
        while chunk := cursor.fetchmany(size):
            yield chunk


def reader(field: Field[Any, Any]) -> Callable[[Any], Any]:
    """Tells what Django makes of a value of this column as the driver has it."""
    column = field.cached_col
    converters = connection.ops.get_db_converters(column) + column.get_db_converters(connection)

    def read(value: Any) -> Any:
        for convert in converters:
            value = convert(value, column, connection)
        return value

    return read
