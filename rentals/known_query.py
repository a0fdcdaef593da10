"""Queries whose text is worked out once: to put a query into words takes Django several times what
the database takes to answer one that finds nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.db import connection
from django.db.models import QuerySet
from django.db.models.expressions import RawSQL

A_NUMBER, A_TEXT = 738_100_427_009, "qzvtextstandinvzq"
"""Stand in the text for what a query is asked with; found in a query by no chance."""
_WORD = "qzvwordstandinvzq"

_Text = tuple[str, tuple[Any, ...]]


class KnownQuery:
    """Plain rows of a query in which little differs from one time to the next."""

    def __init__(self, build: Callable[..., QuerySet[Any, Any]], *stand_ins: int | str) -> None:
        """`stand_ins`, each once, are of the kinds that `build` is handed."""
        self._build, self._stand_ins = build, stand_ins
        self._texts: dict[str, _Text] = {}

    def rows(self, *given: int | str) -> list[tuple[Any, ...]]:
        """The rows as the driver has them, for a `values_list` of plain columns and of Exists.

        Parameters
        ----------
        given
            Takes the place of what `build` was handed. Nothing else may differ from one time to
            the next: the rest is put into words once in the life of the process.
        """
        sql, stood_in = self._text()
        places: dict[Any, Any] = dict(zip(self._stand_ins, given, strict=True))
        with connection.cursor() as cursor:
            cursor.execute(sql, [places.get(one, one) for one in stood_in])
            return cursor.fetchall()

    def _text(self) -> _Text:
        sql, stood_in = _text_of(lambda: self._build(*self._stand_ins), self._texts)
        assert set(self._stand_ins) <= set(stood_in), "the query does not ask for what it is given"
        return sql, stood_in


class KnownSearch:
    """Numbers of rows that a search for one word finds."""

    def __init__(self, build: Callable[[str], QuerySet[Any, Any]]) -> None:
        self._build = build
        self._texts: dict[str, _Text] = {}

    def of(self, word: str) -> RawSQL:
        """What `build` gives for a word, for ``pk__in``.

        Parameters
        ----------
        word : str
            Of letters, in the case that `build` looks for, or capitals of it; what `build` does may
            depend on it in no other way.
        """
        sql, given = _text_of(lambda: self._build(_WORD), self._texts)
        return RawSQL(sql, [_with_word(one, word) for one in given])  # noqa: S611


def _with_word(given: Any, word: str) -> Any:
    if not isinstance(given, str):
        return given
    return given.replace(_WORD, word).replace(_WORD.upper(), word.upper())


def _text_of(build: Callable[[], QuerySet[Any, Any]], texts: dict[str, _Text]) -> _Text:
    """The query in the words of the kind of database that is in use, worked out once for each."""
    vendor = connection.vendor
    if vendor not in texts:
        texts[vendor] = build().query.sql_with_params()
    return texts[vendor]
