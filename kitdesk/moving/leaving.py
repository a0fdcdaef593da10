"""A desk written into a folder: every row as a person reads it and as `import` does, every file,
and what it all means.
"""

from __future__ import annotations

import csv
import io
import json
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.db.models import Model
from django.utils import timezone

from kitdesk.backups.problems import NotPossible
from rentals.actions.erased_list import remember_backup
from rentals.consistent_reads import one_view
from rentals.seals.chain import head_of_log, key_mark
from rentals.selectors.export import defused

from .codec import kind_of, line_of, to_cell, to_json
from .counters import counters
from .described import README, SCHEMA, readme, schema
from .kept_files import copy_out, names_of_files
from .listing import HashedFile, Listing
from .tables import is_for_reading, moved_models

TABLES, ROWS = "tables", "rows"
_CHUNK = 2000
_BYTE_ORDER_MARK = b"\xef\xbb\xbf"


@dataclass(frozen=True)
class HouseCount:
    """How much went out or came in."""

    tables: int
    rows: int
    files: int


def write_house(folder: Path) -> HouseCount:
    """Write the desk, which may be in use, into an empty or new folder, complete or not at all.

    Raises NotPossible where the folder holds something, or the desk is not up to date, and
    StoreAway.
    """
    _check_steps()
    with _emptied_on_failure(folder):
        listing = Listing(folder)
        with one_view():
            names = names_of_files()
            about = _about()
            rows = sum(_write_table(model, listing) for model in moved_models())
        copy_out(names, listing)
        _describe(listing, about)
        listing.close(about)
    remember_backup(folder)
    return HouseCount(len(list(moved_models())), rows, len(names))


def own_steps() -> set[str]:
    """The migrations that make the tables what this Kitdesk expects."""
    return {f"{app}.{name}" for app, name in MigrationLoader(None).disk_migrations}


def _check_steps() -> None:
    applied = MigrationLoader(connection).applied_migrations
    if own_steps() - {f"{app}.{name}" for app, name in applied}:
        raise NotPossible(
            "This desk's tables are of an older version. Run `python3 manage.py prepare`, then"
            " export again."
        )


def mark_of(key: str) -> str:
    """By which a key is known again without being told."""
    return key_mark(key.encode())


@contextmanager
def _emptied_on_failure(folder: Path) -> Iterator[None]:
    is_new = not folder.exists()
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    if any(folder.iterdir()):
        raise NotPossible(f"{folder} is not empty. Name a new folder, or empty this one.")
    try:
        yield
    except BaseException:
        for path in folder.iterdir():
            if path.is_dir():
                shutil.rmtree(path)
            else:
                path.unlink()
        if is_new:
            folder.rmdir()
        raise


def _about() -> dict[str, Any]:
    head = head_of_log()
    return {
        "made": timezone.now().isoformat(),
        "database": connection.vendor,
        "migrations": sorted(own_steps()),
        "log_head": str(head),
        "log_key": head.key_mark,
        "signing_key": mark_of(settings.SECRET_KEY),
        "counters": counters(moved_models()),
    }


def _describe(listing: Listing, about: dict[str, Any]) -> None:
    with listing.writing(SCHEMA) as file:
        file.write(json.dumps(schema(moved_models()), indent=1, ensure_ascii=False).encode())
    with listing.writing(README) as file:
        file.write(readme(about["made"], connection.display_name).encode())


def _write_table(model: type[Model], listing: Listing) -> int:
    fields = model._meta.local_concrete_fields
    kinds = [kind_of(field) for field in fields]
    columns = [field.column for field in fields]
    attributes = [field.attname for field in fields]
    read = [at for at, name in enumerate(attributes) if is_for_reading(model, name)]
    found = model._base_manager.order_by(model._meta.pk.attname).values_list(*attributes)
    table, count = model._meta.db_table, 0
    with listing.writing(f"{ROWS}/{table}.jsonl") as exact, _sheet(listing, table, read) as sheet:
        exact.write(line_of(columns))
        sheet.add([columns[at] for at in read])
        for values in found.iterator(chunk_size=_CHUNK):
            exact.write(line_of(list(map(to_json, kinds, values))))
            sheet.add([to_cell(kinds[at], values[at]) for at in read])
            count += 1
    return count


class _ReadableTable:
    """A table for people: each row as a line of CSV; without a file it takes rows and keeps
    none.
    """

    def __init__(self, file: HashedFile | None) -> None:
        self._file, self._line = file, io.StringIO(newline="")
        self._writer = csv.writer(self._line)
        if file:
            file.write(_BYTE_ORDER_MARK)

    def add(self, cells: list[Any]) -> None:
        if self._file is None:
            return
        self._writer.writerow([defused(cell) for cell in cells])
        self._file.write(self._line.getvalue().encode())
        self._line.seek(0)
        self._line.truncate()


@contextmanager
def _sheet(listing: Listing, table: str, read: list[int]) -> Iterator[_ReadableTable]:
    if not read:
        yield _ReadableTable(None)
        return
    with listing.writing(f"{TABLES}/{table}.csv") as file:
        yield _ReadableTable(file)
