"""Queries whose text is worked out once: to put a query into words takes Django several times what
the database takes to answer one that finds nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.db import connection
from django.db.models import QuerySet

#: Stands for the number in the text; found among what is put into a query by no chance.
_STAND_IN = 738_100_427_009


class KnownQuery:
    """Plain rows of a query about one row, by the number of that row."""

    def __init__(self, build: Callable[[int], QuerySet[Any, Any]]) -> None:
        self._build = build
        self._texts: dict[str, tuple[str, tuple[Any, ...]]] = {}

    def rows(self, number: int) -> list[tuple[Any, ...]]:
        """The rows as the driver has them, for a `values_list` of plain columns and of Exists.

        Parameters
        ----------
        number : int
            Takes the place of what `build` was handed. Nothing else may differ from one time to
            the next: the rest is put into words once in the life of the process.
        """
        sql, given = self._text()
        with connection.cursor() as cursor:
            cursor.execute(sql, [number if one == _STAND_IN else one for one in given])
            return cursor.fetchall()

    def _text(self) -> tuple[str, tuple[Any, ...]]:
        vendor = connection.vendor
        if vendor not in self._texts:
            sql, given = self._build(_STAND_IN).query.sql_with_params()
            assert _STAND_IN in given, "the query does not ask for the number"
            self._texts[vendor] = sql, given
        return self._texts[vendor]
