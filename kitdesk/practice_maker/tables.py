"""Which tables a copy of the played practice has rows in, and what of a row differs from copy to
copy.
"""

from __future__ import annotations

from collections.abc import Iterator
from graphlib import TopologicalSorter
from typing import Any

from django.apps import apps
from django.db import connection, models

from readiness.models import Upload
from rentals.models import (
    ArrivalLine,
    CourseRun,
    Event,
    Kit,
    PackingLine,
    Part,
    SearchWord,
    Shortfall,
    Student,
)

Table = type[models.Model]
Row = list[Any]

#: Where a copy begins: every table that points to one of these has rows of its own in each copy.
ROOTS: tuple[Table, ...] = (Kit, Part, Student, CourseRun, Upload, Event)


def _targets(table: Table) -> Iterator[tuple[str, Table]]:
    for field in table._meta.local_concrete_fields:
        if field.remote_field is not None:
            yield field.attname, field.remote_field.model


def copied_tables() -> list[Table]:
    """All of them, in an order in which their rows may be written: triggers look at what stands
    there already.
    """
    everything = [
        table
        for table in apps.get_models(include_auto_created=True)
        if not table._meta.proxy and table._meta.managed
    ]
    # Words of the search follow from the copied rows.
    everything.remove(SearchWord)
    copied = set(ROOTS)
    while grown := {
        table
        for table in everything
        if table not in copied and any(target in copied for _, target in _targets(table))
    }:
        copied |= grown
    graph: TopologicalSorter[Table] = TopologicalSorter()
    for table in sorted(copied, key=lambda table: table._meta.label):
        graph.add(table, *_earlier(table, copied))
    return list(graph.static_order())


def _earlier(table: Table, copied: set[Table]) -> list[Table]:
    """Tables that must be written before it; a line sent later and its replacement name each other,
    which is looked at when all is written.
    """
    sent_later = (PackingLine, "sent_with_id")
    found = [
        target
        for name, target in _targets(table)
        if target in copied and target is not table and (table, name) != sent_later
    ]
    return [*found, ArrivalLine] if table is Shortfall else found


class CopiedTable:
    """The columns of one table that differs from copy to copy."""

    def __init__(self, table: Table, copied: set[Table]) -> None:
        self.table = table
        self.fields = list(table._meta.local_concrete_fields)
        self.names = [field.attname for field in self.fields]
        #: Columns that hold the number of a copied row, and the table whose numbers these are.
        self.numbers = [
            (place, root_of(target))
            for place, target in enumerate(self._targets())
            if target in copied
        ]
        self.number = self.place(table._meta.pk.attname)
        #: Columns with the moment of playing, which is no part of the story.
        self.dated_by_django = [
            place for place, field in enumerate(self.fields) if getattr(field, "auto_now", False)
        ]
        self._prepared = [
            (place, field)
            for place, field in enumerate(self.fields)
            if isinstance(field, models.DateField | models.DecimalField)
        ]

    def rows(self) -> list[Row]:
        """All rows of today, by number."""
        found = self.table._base_manager.order_by("pk")
        if self.table is Event:
            # The chains of stock and of the test plan are everybody's.
            found = found.exclude(kit=None, part=None)
        return [list(row) for row in found.values_list(*self.names)]

    def _targets(self) -> Iterator[Table | None]:
        for field in self.fields:
            if field.remote_field is not None:
                yield field.remote_field.model
            else:
                yield self.table if field.primary_key else None

    @property
    def own_numbers(self) -> Table:
        """The table whose numbers its rows have."""
        return dict(self.numbers)[self.number]

    def place(self, name: str) -> int:
        """Where a column stands in a row."""
        return self.names.index(name)

    def of_kind(self, kind: type[models.Field[Any, Any]]) -> list[int]:
        """Places of the columns of a kind."""
        return [place for place, field in enumerate(self.fields) if isinstance(field, kind)]

    def as_stored(self, row: Row) -> Row:
        """A row's values as the database's driver takes them, but for JSON."""
        stored = row.copy()
        for place, field in self._prepared:
            stored[place] = field.get_db_prep_save(row[place], connection)
        return stored


def root_of(table: Table) -> Table:
    """The table whose numbers a table's rows have: its parent's, where it extends one."""
    parents = list(table._meta.get_parent_list())
    return parents[-1] if parents else table
