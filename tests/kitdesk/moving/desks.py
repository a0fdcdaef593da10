"""A second desk in the same process: an empty database of its own and folders of its own."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import psycopg
from django.apps import apps
from django.db import connection, connections
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.db.utils import load_backend


@contextlib.contextmanager
def working_at(database: dict[str, Any], folder: Path, settings: Any) -> Iterator[None]:
    """Everything in here happens at the desk with that database and folder."""
    before = connections["default"]
    names = ("VAR", "MEDIA_ROOT", "KITDESK_ERASURES", "KITDESK_LOG_HEADS")
    places = {name: getattr(settings, name) for name in names}
    there = load_backend(database["ENGINE"]).DatabaseWrapper(database, "default")
    connections["default"] = there
    settings.VAR, settings.MEDIA_ROOT = folder, folder / "media"
    settings.KITDESK_ERASURES, settings.KITDESK_LOG_HEADS = folder / "erasures", folder / "heads"
    folder.mkdir(exist_ok=True)
    try:
        yield
    finally:
        there.close()
        connections["default"] = before
        for name, place in places.items():
            setattr(settings, name, place)


@contextlib.contextmanager
def empty_copy(folder: Path) -> Iterator[dict[str, Any]]:
    """The settings of a database like this one, which must be empty still."""
    here = connection.settings_dict
    if connection.vendor == "sqlite":
        file = folder / "copy.sqlite3"
        with connection.cursor() as cursor:
            cursor.execute("VACUUM INTO %s", [str(file)])
        yield here | {"NAME": str(file)}
        return
    name = f"{here['NAME']}_house"
    connection.close()
    where = {"host": here["HOST"], "port": here["PORT"], "user": here["USER"]}
    with contextlib.closing(
        psycopg.connect(dbname="postgres", password=here["PASSWORD"], autocommit=True, **where)
    ) as server:
        server.execute(f'CREATE DATABASE "{name}" TEMPLATE "{here["NAME"]}"')
        try:
            yield here | {"NAME": name}
        finally:
            connection.close()
            server.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


def sqlite_beside(folder: Path) -> dict[str, Any]:
    """The settings of a SQLite database; its tables follow with `make_tables`."""
    return connection.settings_dict | {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": str(folder / "other.sqlite3"),
        "OPTIONS": {"transaction_mode": "IMMEDIATE"},
        "CONN_MAX_AGE": 0,
    }


def make_tables() -> None:
    """The tables as they are now, at once: going through all the steps to them takes ten times as
    long, and which they were is not what is judged.
    """
    models = [model for model in apps.get_models() if model._meta.managed and not model._meta.proxy]
    with connections["default"].schema_editor() as editor:
        for model in models:
            editor.create_model(model)
    recorder = MigrationRecorder(connections["default"])
    recorder.ensure_schema()
    for app, name in MigrationLoader(None).disk_migrations:
        recorder.record_applied(app, name)
