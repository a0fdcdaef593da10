"""The database of a desk in one file, and back: PostgreSQL by its own programs."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
from contextlib import closing
from pathlib import Path

from django.db import DatabaseError, connection

from kitdesk import throwaway_postgres
from kitdesk.backups.problems import NotPossible

SQLITE, POSTGRES = "kitdesk.sqlite3", "kitdesk.pgdump"


def name_of_copy() -> str:
    """How the copy of this desk's database is called in a backup."""
    return POSTGRES if connection.vendor == "postgresql" else SQLITE


def copy_database(target: Path) -> None:
    """Write a consistent copy of the database, which may be in use. Raises NotPossible."""
    if connection.vendor == "postgresql":
        _run("pg_dump", "--format=custom", "--no-owner", "--no-privileges", "--file", str(target))
        return
    # A plain copy of the file would miss what still stands in the write-ahead log.
    try:
        with connection.cursor() as cursor:
            cursor.execute("VACUUM INTO %s", [str(target)])
    except DatabaseError as problem:
        words = f"The database cannot be copied to {target.parent}: {problem}."
        raise NotPossible(words) from problem


def check_copy(copy: Path) -> None:
    """Refuse a damaged copy, and one of the other kind of database. Raises NotPossible."""
    if copy.name != name_of_copy():
        kinds = {SQLITE: "SQLite", POSTGRES: "PostgreSQL"}
        raise NotPossible(
            f"The backup holds a {kinds[copy.name]} database, and this desk is set to"
            f" {kinds[name_of_copy()]} (DATABASE_URL). Nothing was changed."
        )
    if copy.name == POSTGRES:
        _run("pg_restore", "--list", str(copy), connects=False)
        return
    try:
        with closing(sqlite3.connect(copy)) as database:
            (answer,) = database.execute("PRAGMA integrity_check").fetchone()
    except sqlite3.DatabaseError as problem:
        answer = str(problem)
    if answer != "ok":
        raise NotPossible(f"The database in the backup is damaged ({answer}). Nothing was changed.")


def move_in(copy: Path) -> None:
    """Put the copy in the place of this desk's empty database. Raises NotPossible."""
    connection.close()
    if copy.name == POSTGRES:
        _run(
            "pg_restore",
            *("--clean", "--if-exists", "--no-owner", "--no-privileges", "--single-transaction"),
            *("--exit-on-error", str(copy)),
        )
        return
    target = Path(connection.settings_dict["NAME"])
    for ending in ("-wal", "-shm"):
        target.with_name(target.name + ending).unlink(missing_ok=True)
    shutil.move(copy, target)
    target.chmod(0o600)


def _run(program: str, *words: str, connects: bool = True) -> None:
    folder = throwaway_postgres.programs()
    path = shutil.which(program) or (folder and str(folder / program))
    if not path or not Path(path).exists():
        raise NotPossible(
            f"{program} is missing: install PostgreSQL's client programs"
            " (`sudo apt-get install postgresql-client`)."
        )
    there = connection.settings_dict
    where = {
        "PGHOST": there["HOST"],
        "PGPORT": str(there["PORT"] or 5432),
        "PGUSER": there["USER"],
        "PGPASSWORD": there["PASSWORD"],
        "PGDATABASE": there["NAME"],
    }
    environment = os.environ | {name: value for name, value in where.items() if value}
    if program == "pg_restore" and connects:
        words = ("--dbname", there["NAME"], *words)
    done = subprocess.run(
        [path, *words], env=environment, capture_output=True, text=True, check=False
    )
    if done.returncode:
        lines = done.stderr.strip().splitlines() or ["no reason given"]
        raise NotPossible(f"{program} did not succeed: {lines[-1]}")
