"""Which rows an act writes: noted while it runs, so that the log can hold them at its end."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, TypeAlias, TypeVar

from django.db import models

Row = TypeVar("Row", bound=models.Model)
Notes: TypeAlias = dict[type[models.Model], set[int]]

_notes: ContextVar[Notes | None] = ContextVar("notes", default=None)


@contextmanager
def noting() -> Iterator[Notes | None]:
    """Note what is written from here on; None where something around this notes already."""
    if _notes.get() is not None:
        yield None
        return
    fresh: Notes = {}
    before = _notes.set(fresh)
    try:
        yield fresh
    finally:
        _notes.reset(before)


def under_way() -> bool:
    """Whether an act is under way, so that what is written is noted."""
    return _notes.get() is not None


def note_rows(model: type[models.Model], rows: Iterable[int | None]) -> None:
    """Note rows of a table and of the tables it extends. Without an act nothing is noted: what is
    written by hand stays unknown to the log.
    """
    notes = _notes.get()
    if notes is None:
        return
    numbers = {row for row in rows if row is not None}
    concrete = model._meta.concrete_model or model
    for table in (concrete, *concrete._meta.get_parent_list()):
        notes.setdefault(table, set()).update(numbers)


def note_saved(sender: type[models.Model], instance: models.Model, **_: Any) -> None:
    """A receiver of `post_save` and `post_delete`."""
    note_rows(sender, [instance.pk])


class NotedQuerySet(models.QuerySet[Row, Row]):
    """Rows whose writing in bulk is noted too; single rows are noted by Django's signals."""

    def update(self, **values: Any) -> int:
        """As Django's; in an act it costs one query more."""
        if under_way():
            note_rows(self.model, list(self.values_list("pk", flat=True)))
        return super().update(**values)

    def bulk_create(self, objs: Iterable[Row], *args: Any, **options: Any) -> list[Row]:
        """As Django's."""
        made = super().bulk_create(objs, *args, **options)
        note_rows(self.model, [row.pk for row in made])
        return made


class NotedManager(models.Manager[Row]):
    """The manager of a protected table."""

    def get_queryset(self) -> models.QuerySet[Row]:
        """Rows whose writing is noted."""
        return NotedQuerySet(self.model, using=self._db)
