"""A copy of the database in one file, and back."""

import contextlib
import sqlite3
from pathlib import Path

import psycopg
import pytest
from django.contrib.auth import get_user_model
from django.db import connection

from kitdesk.backups import database_copy
from kitdesk.backups.problems import NotPossible


@pytest.mark.postgres
@pytest.mark.django_db(transaction=True)
def test_a_postgres_desk_is_copied_and_put_into_an_empty_database(tmp_path, owner, monkeypatch):
    copy = tmp_path / database_copy.POSTGRES
    database_copy.copy_database(copy)
    database_copy.check_copy(copy)
    here = connection.settings_dict
    name = f"{here['NAME']}_again"
    where = {"host": here["HOST"], "port": here["PORT"], "user": here["USER"]}
    with contextlib.closing(
        psycopg.connect(dbname="postgres", password=here["PASSWORD"], autocommit=True, **where)
    ) as server:
        server.execute(f'CREATE DATABASE "{name}"')
        try:
            with monkeypatch.context() as there:
                there.setitem(connection.settings_dict, "NAME", name)
                database_copy.move_in(copy)
            with psycopg.connect(dbname=name, password=here["PASSWORD"], **where) as other:
                users = other.execute("SELECT username FROM auth_user").fetchall()
            assert users == [(get_user_model().objects.get().username,)]
        finally:
            connection.close()
            server.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


def _sqlite(path: Path) -> Path:
    with contextlib.closing(sqlite3.connect(path)) as database:
        database.execute("CREATE TABLE a (b)")
        database.commit()
    return path


@pytest.mark.any_database
def test_a_copy_of_the_other_kind_or_damaged_is_refused(tmp_path, monkeypatch):
    kinds = {database_copy.SQLITE: "SQLite", database_copy.POSTGRES: "PostgreSQL"}
    copy = _sqlite(tmp_path / database_copy.SQLITE)
    monkeypatch.setattr(database_copy, "name_of_copy", lambda: database_copy.POSTGRES)
    with pytest.raises(NotPossible, match=f"holds a {kinds[copy.name]} database"):
        database_copy.check_copy(copy)
    monkeypatch.setattr(database_copy, "name_of_copy", lambda: database_copy.SQLITE)
    database_copy.check_copy(copy)
    content = copy.read_bytes()
    copy.write_bytes(content[:2000] + b"\xff" * (len(content) - 2000))
    with pytest.raises(NotPossible, match="is damaged"):
        database_copy.check_copy(copy)


@pytest.mark.any_database
def test_a_missing_program_is_named_with_the_way_to_get_it(tmp_path, monkeypatch):
    monkeypatch.setattr(database_copy.shutil, "which", lambda name: None)
    monkeypatch.setattr(database_copy.throwaway_postgres, "programs", lambda: None)
    with pytest.raises(NotPossible, match="postgresql-client"):
        database_copy._run("pg_dump")
