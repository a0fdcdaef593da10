"""A desk in one file, and back: database, captures, pictures and the signing key."""

import json
import shutil
import sqlite3
import tempfile
import zipfile
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from django.conf import settings
from django.contrib.auth import get_user_model
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.utils import timezone

FORMAT = 1
ABOUT, DATABASE, KEY, MEDIA = "about.json", "kitdesk.sqlite3", "secret.key", "media"
POSTGRES_WORDS = (
    "This desk keeps its data in PostgreSQL: use pg_dump and pg_restore for the database, and copy"
    " the folder {media}."
)


class NotPossible(Exception):
    """The backup cannot be made or put back; the message says why and what to do."""


@dataclass(frozen=True)
class Archive:
    """What a backup holds: number of files beside the database, size of the backup in bytes."""

    files: int
    size: int


def write_backup(target: Path) -> Archive:
    """Write the desk, which may be in use, into the zip file ``target``, complete or not at all.

    Raises NotPossible when the data are in PostgreSQL, when ``target`` exists, or when it cannot be
    written.
    """
    _need_sqlite()
    if target.exists():
        raise NotPossible(f"{target} exists already; it is not overwritten. Choose another name.")
    unfinished = target.with_name(target.name + ".part")
    try:
        with tempfile.TemporaryDirectory(dir=target.parent) as folder:
            copy = Path(folder) / DATABASE
            # A consistent copy of a database in use; a plain copy would miss what still stands in
            # the write-ahead log.
            with connection.cursor() as cursor:
                cursor.execute("VACUUM INTO %s", [str(copy)])
            files = _write_zip(unfinished, copy)
        unfinished.replace(target)
    except OSError as problem:
        raise NotPossible(f"{target} cannot be written: {problem.strerror}.") from problem
    finally:
        unfinished.unlink(missing_ok=True)
    return Archive(files, target.stat().st_size)


def _write_zip(target: Path, database: Path) -> int:
    media, count = Path(settings.MEDIA_ROOT), 0
    about = {
        "kitdesk_backup": FORMAT,
        "made": timezone.now().isoformat(),
        "migrations": sorted(_applied()),
    }
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(ABOUT, json.dumps(about, indent=1))
        archive.write(database, DATABASE)
        if (settings.VAR / KEY).exists():
            archive.write(settings.VAR / KEY, KEY)
        for path in sorted(media.rglob("*")):
            if path.is_file():
                archive.write(path, f"{MEDIA}/{path.relative_to(media).as_posix()}")
                count += 1
    target.chmod(0o600)
    return count


def restore_backup(source: Path) -> Archive:
    """Put a backup into this desk, which must be empty. The caller brings the database up to date
    afterwards.

    Everything is read and checked beside the desk before anything of it changes. Raises NotPossible
    when the desk is in use, or the file is no backup, is damaged, or comes from a newer Kitdesk.
    """
    _need_sqlite()
    if _in_use():
        raise NotPossible(
            "This desk holds data already. Put the backup into an empty one: set KITDESK_VAR to a"
            " new folder."
        )
    settings.VAR.mkdir(parents=True, exist_ok=True)
    try:
        with (
            tempfile.TemporaryDirectory(dir=settings.VAR) as folder,
            zipfile.ZipFile(source) as archive,
        ):
            _check(archive, source)
            archive.extractall(folder)
            _check_database(Path(folder) / DATABASE)
            files = sum(path.is_file() for path in (Path(folder) / MEDIA).rglob("*"))
            _move_in(Path(folder))
    except (zipfile.BadZipFile, EOFError) as problem:
        raise NotPossible(f"{source} is damaged or no backup of Kitdesk: {problem}.") from problem
    except OSError as problem:
        raise NotPossible(f"{problem.filename or source}: {problem.strerror}.") from problem
    return Archive(files, source.stat().st_size)


def _need_sqlite() -> None:
    if connection.vendor != "sqlite":
        raise NotPossible(POSTGRES_WORDS.format(media=settings.MEDIA_ROOT))


def _in_use() -> bool:
    accounts = get_user_model()
    has_accounts_table = accounts._meta.db_table in connection.introspection.table_names()
    media = Path(settings.MEDIA_ROOT)
    return (has_accounts_table and accounts._default_manager.exists()) or (
        media.is_dir() and any(media.iterdir())
    )


def _applied() -> set[str]:
    return {f"{app}.{name}" for app, name in MigrationLoader(connection).applied_migrations}


def _check(archive: zipfile.ZipFile, source: Path) -> None:
    names = archive.namelist()
    if ABOUT not in names or DATABASE not in names:
        raise NotPossible(f"{source} is no backup of Kitdesk.")
    try:
        about = json.loads(archive.read(ABOUT))
        own_migrations = {f"{app}.{name}" for app, name in MigrationLoader(None).disk_migrations}
        newer = about["kitdesk_backup"] != FORMAT or not set(about["migrations"]) <= own_migrations
    except (ValueError, KeyError, TypeError) as problem:
        raise NotPossible(f"{source} is no backup of Kitdesk.") from problem
    if newer:
        raise NotPossible(f"{source} was made by a newer Kitdesk; bring this one up to date first.")
    for name in names:
        parts = PurePosixPath(name).parts
        if (
            (name not in (ABOUT, DATABASE, KEY) and parts[:1] != (MEDIA,))
            or ".." in parts
            or "\\" in name
        ):
            raise NotPossible(
                f"{source} holds a file that no backup has: {name!r}. Nothing was changed."
            )


def _check_database(database: Path) -> None:
    try:
        with closing(sqlite3.connect(database)) as copy:
            (answer,) = copy.execute("PRAGMA integrity_check").fetchone()
    except sqlite3.DatabaseError as problem:
        answer = str(problem)
    if answer != "ok":
        raise NotPossible(f"The database in the backup is damaged ({answer}). Nothing was changed.")


def _move_in(folder: Path) -> None:
    """The database comes last: without it the desk still counts as empty, and the restore can be
    repeated.
    """
    target = Path(connection.settings_dict["NAME"])
    connection.close()
    if (folder / MEDIA).is_dir():
        shutil.copytree(folder / MEDIA, settings.MEDIA_ROOT, dirs_exist_ok=True)
    if (folder / KEY).exists():
        (folder / KEY).replace(settings.VAR / KEY)
    for ending in ("-wal", "-shm"):
        target.with_name(target.name + ending).unlink(missing_ok=True)
    shutil.move(folder / DATABASE, target)
