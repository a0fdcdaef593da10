"""A desk read from a folder into an empty one, all of it or nothing."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import IO, Any

from django.conf import settings
from django.db import DatabaseError, connection, transaction
from django.db.models import Field, Model

from kitdesk.backups.problems import NotPossible
from rentals.models import LogLine

from .codec import from_json, kind_of, line_of
from .counters import set_counters
from .kept_files import FILES, check_room, putting_in_place
from .leaving import ROWS, HouseCount, mark_of, own_steps
from .listing import checked_listing
from .tables import FILLED_BY_ITSELF, moved_models

_BATCH = 500
_MOST_NAMED = 3


@dataclass(frozen=True)
class House:
    """An exported desk whose files are all there and as they were written: the names of those that
    it keeps, what its manifest says, and whether links that students have go on opening.
    """

    folder: Path
    names: list[str]
    about: dict[str, Any]

    @property
    def keeps_its_links(self) -> bool:
        """Whether this desk signs with the same key."""
        return bool(self.about["signing_key"] == mark_of(settings.SECRET_KEY))


def look_over(folder: Path, *, with_other_key: bool = False) -> House:
    """Check everything that can be checked before anything is changed: the files, the version, the
    key of the log, that this desk is empty. Raises NotPossible.
    """
    about, files = checked_listing(folder)
    _check_steps(set(about["migrations"]))
    if about["log_key"] not in ("", mark_of(settings.KITDESK_LOG_KEY)) and not with_other_key:
        raise NotPossible(_OTHER_KEY.format(place=settings.LOG_KEY_FILE))
    _check_empty()
    start = f"{FILES}/"
    kept = {
        name.removeprefix(start): packed for name, packed in files.items() if name.startswith(start)
    }
    check_room(kept)
    return House(folder, list(kept), about)


_OTHER_KEY = (
    "The log was written with another key than this desk has. Copy log.key from the old desk's data"
    " folder to {place}, or set KITDESK_LOG_KEY as it was, then import again; where that key is"
    " lost, add --take-on-key. Nothing was changed."
)


def _check_steps(theirs: set[str]) -> None:
    own = own_steps()
    if theirs - own:
        raise NotPossible(
            "The folder was written by a newer Kitdesk. Bring this one up to date, then import"
            " again."
        )
    if own - theirs:
        raise NotPossible(
            "The folder was written by an older Kitdesk. Bring the old desk up to date, run"
            " `python3 manage.py prepare` there, and export it again."
        )


def _check_empty() -> None:
    """Refuse a desk that somebody has begun to use."""
    there = set(connection.introspection.table_names())
    models = [model for model in moved_models() if model._meta.db_table in there]
    held = [model for model in models if _is_used(model)]
    if held:
        counts = [f"{model._base_manager.count()} in {model._meta.db_table}" for model in held]
        more = ", and more" if len(held) > _MOST_NAMED else ""
        raise NotPossible(
            f"This desk holds rows already: {', '.join(counts[:_MOST_NAMED])}{more}. Import into an"
            " empty one: set KITDESK_VAR to a new folder, or DATABASE_URL to an empty database."
        )


def _is_used(model: type[Model]) -> bool:
    rows = model._base_manager.all()
    if model is LogLine:
        rows = rows.filter(row__gt=0)
    elif model._meta.label in FILLED_BY_ITSELF:
        return False
    return rows.exists()


def move_in(house: House) -> HouseCount:
    """Write every row and put every file in its place. The tables must be up to date.

    Raises NotPossible where the database takes a row not; then nothing stays, neither row nor file.
    """
    models = list(moved_models())
    with putting_in_place(house.folder, house.names), transaction.atomic():
        _make_room(models)
        rows = sum(_read_table(model, house.folder) for model in models)
        try:
            connection.check_constraints()
        except DatabaseError as problem:
            raise NotPossible(f"A row refers to one that is not there: {problem}") from problem
        set_counters(models, house.about["counters"])
    return HouseCount(len(models), rows, len(house.names))


def _make_room(models: list[type[Model]]) -> None:
    with connection.cursor() as cursor:
        for model in models:
            if model._meta.label in FILLED_BY_ITSELF:
                # The names are the models' own, and quoted.
                cursor.execute(f"DELETE FROM {_quoted(model._meta.db_table)}")  # noqa: S608


def _read_table(model: type[Model], folder: Path) -> int:
    fields = model._meta.local_concrete_fields
    name = f"{ROWS}/{model._meta.db_table}.jsonl"
    columns = [str(field.column) for field in fields]
    words = ", ".join(map(_quoted, columns))
    places = ", ".join(["%s"] * len(fields))
    table = _quoted(model._meta.db_table)
    insert = f"INSERT INTO {table} ({words}) VALUES ({places})"  # noqa: S608  (the same)
    count = 0
    with (folder / name).open("rb") as stream, connection.cursor() as cursor:
        if stream.readline() != line_of(columns):
            raise NotPossible(f"{name} has other columns than this Kitdesk. Nothing was changed.")
        rows = _rows(stream, fields, name)
        while batch := list(islice(rows, _BATCH)):
            _insert(cursor, insert, batch, f"{name}, lines {count + 2} to {count + len(batch) + 1}")
            count += len(batch)
    return count


def _rows(
    stream: IO[bytes], fields: Iterable[Field[Any, Any]], name: str
) -> Iterator[list[object]]:
    fields = list(fields)
    kinds = [kind_of(field) for field in fields]
    for number, line in enumerate(stream, start=2):
        try:
            values = map(from_json, kinds, json.loads(line))
            yield [_prepared(*pair) for pair in zip(fields, values, strict=True)]
        except (ValueError, TypeError, RecursionError) as problem:
            words = f"{name}, line {number}, is no row of its table: {problem}. Nothing stays."
            raise NotPossible(words) from problem


def _prepared(field: Field[Any, Any], value: object) -> object:
    """As this database takes it. A column of JSON that is never NULL may well hold a null."""
    if value is None and field.get_internal_type() == "JSONField" and not field.null:
        return field.get_db_prep_value(value, connection)
    return field.get_db_prep_save(value, connection)


def _insert(cursor: Any, insert: str, rows: list[list[object]], where: str) -> None:
    try:
        cursor.executemany(insert, rows)
    # The driver of PostgreSQL refuses a text with a NUL before the database sees it.
    except (DatabaseError, ValueError, OverflowError) as problem:
        reason = str(problem).splitlines()[0]
        raise NotPossible(f"The database refuses {where}: {reason}. Nothing stays.") from problem


def _quoted(name: str) -> str:
    return str(connection.ops.quote_name(name))
