"""What Django works out anew for every query though it is the same each time, kept for each
connection: the columns of a whole model, how their values are read, and whether the order names one
of them. Putting queries into words takes a third of a page with many of them, this half of that.

What is put together is what Django itself has put together before, word for word; a query that is
any less plain goes Django's own way.
"""

from __future__ import annotations

from typing import Any

from django.apps import apps
from django.db.models.expressions import Col
from django.db.models.sql import compiler, query
from django.db.models.sql.compiler import (
    SQLAggregateCompiler,
    SQLDeleteCompiler,
    SQLInsertCompiler,
    SQLUpdateCompiler,
)

__all__ = [
    "SQLAggregateCompiler",
    "SQLCompiler",
    "SQLDeleteCompiler",
    "SQLInsertCompiler",
    "SQLUpdateCompiler",
    "put_plain_queries_quickly",
]

_Select = tuple[list[Any], dict[str, Any] | None, dict[str, int]]


def put_plain_queries_quickly(connection: Any) -> None:
    """Have all connections of this one's kind ask for their compilers here."""
    type(connection.ops).compiler_module = __name__


class SQLCompiler(compiler.SQLCompiler):
    """Django's own, but for what a query on whole rows of one table repeats."""

    def compile(self, node: Any) -> tuple[str, Any]:
        # Most of what is put into words are columns; asking each for its way takes as long again.
        if type(node) is Col and node.alias and (column := node.target.column):
            quote = self.quote_name_unless_alias
            return f"{quote(node.alias)}.{quote(column)}", []
        words: tuple[str, Any] = super().compile(node)
        return words

    def get_select(self, with_col_aliases: bool = False) -> _Select:
        if with_col_aliases or not _asks_for_whole_rows(self.query):
            return super().get_select(with_col_aliases)
        model = self.query.model
        known = _kept(self.connection, "selects")
        if model not in known:
            known[model] = tuple(super().get_select()[0])
        select = list(known[model])
        return select, {"model": model, "select_fields": list(range(len(select)))}, {}

    def get_converters(self, expressions: Any) -> dict[int, Any]:
        expressions = list(expressions)
        of_model = _kept(self.connection, "selects").get(self.query.model)
        if of_model is None or not _are(expressions, of_model):
            return super().get_converters(expressions)
        known = _kept(self.connection, "converters")
        if self.query.model not in known:
            known[self.query.model] = super().get_converters(expressions)
        found: dict[int, Any] = known[self.query.model]
        return found

    def _order_by_pairs(self) -> Any:
        """An order by plain names can only mean a column that was given a name; Django makes ready
        to find any of them.
        """
        select = self.select
        given = {alias for _, _, alias in select or () if alias}
        if not _orders_by_names(self.query, given):
            return super()._order_by_pairs()
        self.select = []
        try:
            pairs: Any = super()._order_by_pairs()
            return list(pairs)
        finally:
            self.select = select


def _asks_for_whole_rows(asked: query.Query) -> bool:
    """Whether a query asks for all columns of a model that has its own table, and for nothing else.
    What a migration makes a model of goes when that has run, so nothing of it is kept.
    """
    meta = asked.get_meta()
    return (
        meta is not None
        and meta.apps is apps
        and asked.default_cols
        and asked.selected is None
        and not (asked.select or asked.select_related or asked.annotations or asked.extra)
        and not asked.deferred_loading[0]
        and asked.get_initial_alias() == meta.db_table
        and not (meta.proxy or meta.parents)
    )


def _orders_by_names(asked: query.Query, given: set[str]) -> bool:
    """Whether all of an order are names of fields, none of them a name `given` to a column."""
    meta = asked.get_meta()
    if meta is None or asked.combinator or asked.extra or asked.extra_order_by:
        return False
    ordering: Any = asked.order_by
    if asked.default_ordering and not ordering:
        ordering = meta.ordering or ()
    return all(isinstance(name, str) and name.lstrip("+-") not in given for name in ordering)


def _are(expressions: list[Any], select: tuple[Any, ...]) -> bool:
    """Whether these are the very columns that were kept."""
    return len(expressions) == len(select) and all(
        one is column for one, (column, _, _) in zip(expressions, select, strict=True)
    )


def _kept(connection: Any, what: str) -> dict[Any, Any]:
    """Goes with the connection, so no other thread has it."""
    kept: dict[str, dict[Any, Any]] = connection.__dict__.setdefault("kitdesk_quick_sql", {})
    return kept.setdefault(what, {})
