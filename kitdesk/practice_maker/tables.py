"""Which tables a copy of the played practice has rows in, and what of a row differs from copy to
copy.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from graphlib import TopologicalSorter
from typing import Any

from django.apps import apps
from django.db import connection, models

from readiness.models import Upload
from rentals.models import ArrivalLine, CourseRun, Event, Kit, PackingLine, Part, Shortfall, Student

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
    """The played rows of one table."""

    def __init__(self, table: Table, copied: set[Table]) -> None:
        self.table = table
        self.fields = list(table._meta.local_concrete_fields)
        self.names = [field.attname for field in self.fields]
        self.numbers = [
            (place, root_of(target))
            for place, (name, target) in enumerate(self._numbered())
            if target in copied
        ]
        played = table._base_manager.order_by("pk")
        if table is Event:
            # The chains of stock and of the test plan are everybody's.
            played = played.exclude(kit=None, part=None)
        self.rows: list[Row] = [list(row) for row in played.values_list(*self.names)]

    def _numbered(self) -> Iterator[tuple[str, Table | None]]:
        for field in self.fields:
            if field.remote_field is not None:
                yield field.attname, field.remote_field.model
            else:
                yield field.attname, self.table if field.primary_key else None

    def place(self, name: str) -> int:
        """Where a column stands in a row."""
        return self.names.index(name)

    def of_kind(self, kind: type[models.Field[Any, Any]]) -> list[int]:
        """Places of the columns of a kind."""
        return [place for place, field in enumerate(self.fields) if isinstance(field, kind)]

    @cached_property
    def highest(self) -> int:
        """The highest number of a played row."""
        largest = self.table._base_manager.aggregate(largest=models.Max("pk"))["largest"]
        return int(largest or 0)

    def as_stored(self, row: Row) -> Row:
        """A row's values as the database's driver takes them."""
        return [
            field.get_db_prep_save(value, connection)
            if isinstance(field, models.DateField | models.DecimalField)
            else value
            for field, value in zip(self.fields, row, strict=True)
        ]


def root_of(table: Table) -> Table:
    """The table whose numbers a table's rows have: its parent's, where it extends one."""
    parents = list(table._meta.get_parent_list())
    return parents[-1] if parents else table
