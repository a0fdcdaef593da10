"""Which tables the log protects, by which columns, and the digest of a row."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.conf import settings
from django.db import models
from django.db.models.signals import post_delete, post_save

from rentals.noted import note_saved
from rentals.packed import packer
from rentals.plain_rows import plain_rows

from .keyed import coder
from .quick import as_python_writes, quick_line
from .unreadable import rows_that_can_be_read


def log_key() -> bytes:
    """The key of this desk's log."""
    return str(settings.KITDESK_LOG_KEY).encode()


@dataclass(frozen=True, eq=False)
class SealedTable:
    """A table whose rows the log holds. `columns` count; `left_out` gives the reason of each that
    does not. `file` is the column of a kept file, `file_digest` that of its SHA-256.
    """

    model: type[models.Model]
    columns: tuple[str, ...]
    left_out: Mapping[str, str]
    file: str = ""
    file_digest: str = ""

    @property
    def name(self) -> str:
        """As the log calls it."""
        return self.model._meta.label_lower

    @property
    def columns_digest(self) -> str:
        """Changes with the columns that count, after which every row is held anew."""
        return hashlib.sha256(_packed(self.columns)).hexdigest()

    def within(self, stretch: tuple[int, int | None]) -> models.QuerySet[Any]:
        """Rows from the first number of a stretch to before its last, by number. Where it begins
        with 0, lower ones too.
        """
        found = self.model._base_manager.order_by("pk")
        first, last = stretch
        if first:
            found = found.filter(pk__gte=first)
        return found if last is None else found.filter(pk__lt=last)

    def digests(
        self, rows: Collection[int] | None = None, stretch: tuple[int, int | None] = (0, None)
    ) -> Iterator[tuple[int, str]]:
        """Number and digest of the rows, or of all of a stretch, by number. Memory stays flat. They
        are keyed: nobody without the key can try out what an erased row said.
        """
        found = self.within(stretch)
        if rows is not None:
            found = found.filter(pk__in=rows)
        return rows_that_can_be_read(found, self._digested)

    def _digested(self, found: models.QuerySet[Any]) -> Iterator[tuple[int, str]]:
        digest = self.digester()
        for pk, *facts in found.values_list("pk", *self.columns).iterator(chunk_size=2000):
            yield pk, digest(pk, facts)

    def quick_digests(self, stretch: tuple[int, int | None], most: int) -> dict[int, str]:
        """Digests of the first `most` rows of a stretch, by number. One that is not what the log
        says may yet be so as `digests` tells it. Raises what reading a value fails with
        (`unreadable.SIGNS`).
        """
        found = self.within(stretch)
        line = quick_line(self.model, self.name, self.columns)
        if line is None:
            return dict(self._digested(found[:most]))
        code = coder(log_key())
        lines = plain_rows(found.values_list("pk", line)[:most])
        return {pk: code(as_python_writes(text).encode()) for pk, text in lines}

    def digester(self) -> Callable[[int, Sequence[Any]], str]:
        """Tells the digest of a row by its number and the values of `columns`."""
        code, name = coder(log_key()), self.name

        def digest(row: int, facts: Sequence[Any]) -> str:
            return code(_packed([name, row, *facts]))

        return digest


_TABLES: dict[type[models.Model], SealedTable] = {}


def protect(
    model: type[models.Model],
    left_out: Mapping[str, str] | None = None,
    *,
    file: str = "",
    file_digest: str = "sha256",
) -> None:
    """Have the log hold every row of `model`, by all of its columns but those left out.

    Raises
    ------
    ValueError
        If a column that is left out does not exist.
    """
    left_out = left_out or {}
    columns = [field.attname for field in model._meta.local_concrete_fields]
    if unknown := set(left_out) - set(columns):
        raise ValueError(f"{model.__name__} has no column {sorted(unknown)[0]}.")
    counting = sorted(set(columns) - set(left_out))
    _TABLES[model] = SealedTable(model, tuple(counting), left_out, file, file_digest)
    # Stand-ins of a model send signals of their own.
    senders = [kind for kind in apps.get_models() if issubclass(kind, model)]
    for sender in senders:
        post_save.connect(note_saved, sender=sender)
        post_delete.connect(note_saved, sender=sender)


def sealed_tables() -> list[SealedTable]:
    """All that are protected, by name."""
    return sorted(_TABLES.values(), key=lambda table: table.name)


def sealed_table(model: type[models.Model]) -> SealedTable | None:
    """That of a model; None where it is not protected."""
    return _TABLES.get(model)


#: By label, why the log does not hold a table.
_UNPROTECTED: dict[str, str] = {}


def leave_unprotected(reasons: Mapping[str, str]) -> None:
    """Say of tables, by label, why the log need not hold them."""
    _UNPROTECTED.update(reasons)


def undecided_tables() -> list[str]:
    """Labels of tables that the log neither holds nor is told to leave out, and of those that both
    is said of.
    """
    models = [model for model in apps.get_models(include_auto_created=True) if model._meta.managed]
    tables = {model._meta.label: model for model in models if not model._meta.proxy}
    return sorted(
        label for label, model in tables.items() if (model in _TABLES) == (label in _UNPROTECTED)
    )


_as_line = packer(str)


def _packed(facts: Any) -> bytes:
    return _as_line(facts).encode()
