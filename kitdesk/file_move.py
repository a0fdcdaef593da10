"""Captures and photos from one place to another: copied and compared, and taken away from where
they were only when the desk keeps them elsewhere.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.conf import settings
from django.core.files.storage import default_storage, storages
from django.db.models import FileField

from kitdesk.file_place import FilePlace

Progress = Callable[[int], None]


class NotSame(Exception):
    """A file that arrived otherwise than it left; the message names it."""


@dataclass
class FileTally:
    """How many files were copied, were there already, were left behind since no row names them, and
    were taken away.
    """

    copied: int = 0
    there: int = 0
    unnamed: int = 0
    deleted: int = 0

    @property
    def seen(self) -> int:
        return self.copied + self.there + self.unnamed


def storage_at(place: FilePlace) -> Any:
    """The storage of a place; the folder of the desk itself where it names none."""
    if place.options is not None:
        return storages.create_storage(place.backend)
    folder = place.folder or settings.VAR / "media"
    return storages.create_storage(place.backend | {"OPTIONS": {"location": folder}})


def is_of_the_desk(storage: Any) -> bool:
    """Whether the desk keeps its files there now."""
    return _place_of(storage) == _place_of(default_storage)


def _place_of(storage: Any) -> tuple[str, ...]:
    facts = (getattr(storage, name, "") for name in ("endpoint_url", "bucket_name", "location"))
    return tuple(str(fact or "") for fact in facts)


def copy_all(source: Any, target: Any, on_progress: Progress = lambda done: None) -> FileTally:
    """Copy every file of `source` that `target` lacks, or has otherwise; safe to repeat and to
    break off. Where the desk keeps its files at `target`, what is there is right already, and what
    no row names any more (somebody was erased) is not brought back.

    Raises NotSame.
    """
    moved = FileTally()
    named = set(names_in_rows()) if is_of_the_desk(target) else None
    for name in source.names():
        if named is not None and name not in named:
            moved.unnamed += 1
        elif _is_there(source, target, name, by_name=named is not None):
            moved.there += 1
        else:
            moved.copied += _copy(source, target, name)
        on_progress(moved.seen)
    return moved


def _is_there(source: Any, target: Any, name: str, *, by_name: bool) -> bool:
    if by_name:
        return bool(target.exists(name))
    there = _digest(target, name)
    return there is not None and there == _digest(source, name)


def _copy(source: Any, target: Any, name: str) -> int:
    """1, or 0 where the file has gone meanwhile."""
    try:
        stream = source.open(name)
    except FileNotFoundError:
        return 0
    with stream:
        target.put(name, stream)
    if _digest(source, name) not in (_digest(target, name), None):
        target.delete(name)
        raise NotSame(f"{name} did not arrive as it left. Nothing was taken away; run this again.")
    return 1


def _digest(storage: Any, name: str) -> str | None:
    """SHA-256 of a file; None where it is not there."""
    with suppress(FileNotFoundError), storage.open(name) as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
    return None


def delete_all(source: Any, on_progress: Progress = lambda done: None) -> int:
    """Take every file away from a place that the desk uses no more; how many."""
    deleted = 0
    for name in list(source.names()):
        source.delete(name)
        deleted += 1
        on_progress(deleted)
    return deleted


def lacking(target: Any) -> list[str]:
    """Files that rows name and `target` does not have."""
    there = set(target.names())
    return [name for name in names_in_rows() if name not in there]


def names_in_rows() -> Iterator[str]:
    """The names of all files that rows name."""
    for model in apps.get_models():
        for field in model._meta.concrete_fields:
            if isinstance(field, FileField):
                rows = model._base_manager.exclude(**{field.name: ""}).order_by("pk")
                yield from rows.values_list(field.name, flat=True).iterator(chunk_size=2000)
