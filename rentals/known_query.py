"""Queries whose text is worked out once: to put a query into words takes Django several times what
the database takes to answer one that finds nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Generic, TypeVar, cast

from django.db import connection, connections
from django.db.models import Model, QuerySet
from django.db.models.base import ModelState
from django.db.models.expressions import RawSQL

A_NUMBER, A_TEXT = 738_100_427_009, "qzvtextstandinvzq"
"""Stand in the text for what a query is asked with; found in a query by no chance."""
_WORD = "qzvwordstandinvzq"

_Text = tuple[str, tuple[Any, ...]]
_Row = TypeVar("_Row")
#: Queries of how many lists and lengths each connection keeps.
_MOST_KEPT = 500


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


class KnownRows(Generic[_Row]):
    """Rows of a list by numbers of theirs, as a query gives them."""

    def __init__(self, build: Callable[[], QuerySet[Any, _Row]], by: str = "pk") -> None:
        """`build` gives the rows of all numbers, and may depend on nothing that changes in the life
        of the process; `by` is the column that holds the numbers.
        """
        self._build, self._by = build, by

    def rows(self, numbers: Sequence[int]) -> list[_Row]:
        """All rows with these numbers, in the order that `build` gives. For as many numbers the
        query is put into words once by each connection.
        """
        if not numbers:
            return []
        # Not that which Django hands to all threads: a query is this thread's alone while it asks.
        own = connections[connection.alias]
        known: dict[Any, _KnownRead] = vars(own).setdefault("kitdesk_known_rows", {})
        key = (self, len(numbers))
        if key not in known:
            if len(known) >= _MOST_KEPT:
                known.clear()
            known[key] = _KnownRead(self._build(), self._by, len(numbers), own)
        return known[key].rows(numbers)

    def of(self, numbers: Sequence[int]) -> list[_Row]:
        """One row for each of these numbers, in their order, each with its own number as ``pk``;
        those that there are no more are left out.
        """
        found: dict[Any, Any] = {row.pk: row for row in cast(list[Any], self.rows(numbers))}
        return [found[number] for number in numbers if number in found]


class _KnownRead:
    """A query on rows by so many numbers, with its text and how its answer is read."""

    def __init__(self, rows: QuerySet[Any, Any], by: str, count: int, own: Any) -> None:
        stand_ins = range(A_NUMBER, A_NUMBER + count)
        self._rows = rows.filter(**{f"{by}__in": stand_ins})
        compiler = self._rows.query.get_compiler(connection=own)
        sql, stood_in = compiler.as_sql()
        assert set(stand_ins) <= set(stood_in), "the query does not ask for what it is given"
        if compiler.klass_info:
            _make_quick(compiler.klass_info)

        def with_numbers() -> _Text:
            return sql, tuple(self._given.get(one, one) for one in stood_in)

        # The query is asked for its words and its reader each time; it is nobody else's.
        compiler.as_sql = with_numbers
        self._rows.query.get_compiler = lambda *_, **__: compiler  # type: ignore[method-assign]
        self._stand_ins, self._given = stand_ins, dict[Any, int]()

    def rows(self, numbers: Sequence[int]) -> list[Any]:
        self._given = dict(zip(self._stand_ins, numbers, strict=True))
        rows: Any = self._rows._iterable_class(self._rows)
        return list(rows)


class _QuickModel:
    """Makes rows of a model as it does itself, without asking for each column whether it was read
    and for each row who wants to know of it. For models that leave that to Django.
    """

    def __init__(self, model: type[Model]) -> None:
        self._meta, self._model = model._meta, model

    def from_db(self, db: str, names: Sequence[str], values: Sequence[Any]) -> Model:
        row = self._model.__new__(self._model)
        state = ModelState()
        state.db, state.adding = db, False
        row.__dict__.update(zip(names, values, strict=True), _state=state)
        return row


def _kinds_of(model: type[Model]) -> tuple[type, ...]:
    """The model and what it is a kind of, up to Django's own."""
    return model.__mro__[: model.__mro__.index(Model)]


def _make_quick(rows: dict[str, Any]) -> None:
    """Have the rows of these models, and of what is read with them, made quickly."""
    model, own_ways = rows["model"], ("__init__", "from_db")
    if not any(name in vars(kind) for kind in _kinds_of(model) for name in own_ways):
        rows["model"] = _QuickModel(model)
    for related in rows.get("related_klass_infos", ()):
        _make_quick(related)


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
