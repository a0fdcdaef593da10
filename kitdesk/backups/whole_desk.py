"""A desk in one file, and back: database, captures, pictures and the signing key."""

from __future__ import annotations

import json
import os
import tempfile
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path, PurePosixPath
from typing import Any

from django.conf import settings
from django.contrib.auth import get_user_model
from django.core.files import File
from django.core.files.storage import default_storage
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.utils import timezone

from kitdesk.backups import database_copy, manifest, sealing
from kitdesk.backups.problems import NotPossible
from kitdesk.secret import kept_secret
from kitdesk.settings import env
from rentals.actions.erased_list import remember_backup
from rentals.seals.chain import head_of_log
from rentals.seals.heads import head_from_words
from rentals.store_away import StoreAway

#: 1 was without a manifest; both are put back.
FORMAT = 2
ABOUT, KEY, MEDIA = "about.json", "secret.key", "media"
#: Only in a sealed backup: whoever has the database of a plain one is not to have this as well.
LOG_KEY = "log.key"


@dataclass(frozen=True)
class Archive:
    """What a backup holds: number of files beside the database, size of the backup in bytes, and
    where the log stood, by number; nothing where the backup is older than the log.
    """

    files: int
    size: int
    heads: dict[int, str] = field(default_factory=dict)


def write_backup(target: Path, phrase: str = "") -> Archive:
    """Write the desk, which may be in use, into the file ``target``, complete or not at all; with a
    pass phrase it is sealed.

    Raises NotPossible when ``target`` exists, or when it cannot be written.
    """
    if target.exists():
        raise NotPossible(f"{target} exists already; it is not overwritten. Choose another name.")
    try:
        with tempfile.TemporaryDirectory(dir=target.parent, prefix=".kitdesk-backup-") as name:
            folder = Path(name)
            packed = folder / "packed"
            files = _write_zip(packed, folder, with_log_key=bool(phrase))
            if phrase:
                sealed = folder / "sealed"
                sealing.seal(packed, sealed, phrase)
                packed = sealed
            packed.chmod(0o600)
            _keep(packed)
            packed.replace(target)
        remember_backup(target.parent)
    except StoreAway as away:
        raise NotPossible(away.sentence) from away
    except OSError as problem:
        raise NotPossible(f"{target} cannot be written: {problem.strerror}.") from problem
    return Archive(files, target.stat().st_size)


def _keep(file: Path) -> None:
    """Bytes that only the system's memory holds are no backup."""
    with file.open("rb") as stream:
        os.fsync(stream.fileno())


def _write_zip(target: Path, folder: Path, *, with_log_key: bool) -> int:
    # Before the copy, which may go further: what is told must stand in it.
    head = head_of_log()
    copy = folder / database_copy.name_of_copy()
    database_copy.copy_database(copy)
    files = {}
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, source in _sources(copy, with_log_key=with_log_key):
            if packed := manifest.pack(archive, source, name):
                files[name] = packed
        about = {
            "kitdesk_backup": FORMAT,
            "made": timezone.now().isoformat(),
            "migrations": sorted(_applied()),
            "files": manifest.as_json(files),
            "log_head": str(head),
        }
        archive.writestr(ABOUT, json.dumps(about, indent=1))
    return sum(name.startswith(f"{MEDIA}/") for name in files)


def _sources(copy: Path, *, with_log_key: bool) -> Iterator[tuple[str, manifest.Source]]:
    """What goes into a backup, by its name there, each to be opened when its turn has come."""
    yield copy.name, partial(copy.open, "rb")
    for key in [KEY, LOG_KEY] if with_log_key else [KEY]:
        if (settings.VAR / key).exists():
            yield key, partial((settings.VAR / key).open, "rb")
    for name in _storage().names():
        yield f"{MEDIA}/{name}", partial(_storage().open, name)


def _storage() -> Any:
    """Captures and photos, wherever this desk keeps them: one of ours, which can do more than
    Django asks.
    """
    return default_storage


def restore_backup(source: Path, phrase: str = "") -> Archive:
    """Put a backup into this desk, which must be empty. The caller brings the database up to date
    afterwards.

    Everything is read and checked beside the desk before anything of it changes. Raises NotPossible
    when the desk is in use, or the file is no backup, is damaged, or comes from a newer Kitdesk.
    """
    _refuse_if_in_use()
    settings.VAR.mkdir(parents=True, exist_ok=True)
    try:
        with tempfile.TemporaryDirectory(dir=settings.VAR) as name:
            folder = Path(name)
            unpacked = folder / "desk"
            unpacked.mkdir()
            with zipfile.ZipFile(_opened(source, folder, phrase)) as archive:
                files, heads = _check(archive, source)
                manifest.check_space(files, folder)
                manifest.unpack(archive, files, unpacked)
            copy = next(unpacked / name for name in _COPIES if name in files)
            database_copy.check_copy(copy)
            count = sum(name.startswith(f"{MEDIA}/") for name in files)
            _move_in(unpacked, copy)
    except (zipfile.BadZipFile, EOFError, NotImplementedError) as problem:
        raise NotPossible(f"{source} is damaged or no backup of Kitdesk: {problem}.") from problem
    except StoreAway as away:
        raise NotPossible(away.sentence) from away
    except OSError as problem:
        raise NotPossible(f"{problem.filename or source}: {problem.strerror}.") from problem
    return Archive(count, source.stat().st_size, heads)


_COPIES = (database_copy.SQLITE, database_copy.POSTGRES)


def _opened(source: Path, folder: Path, phrase: str) -> Path:
    """The archive itself: the file as it is, or what is sealed in it."""
    if not sealing.is_sealed(source):
        return source
    if not phrase:
        raise NotPossible(
            f"{source} is sealed. Set KITDESK_BACKUP_PHRASE to the pass phrase it was made with."
        )
    plain = folder / "plain"
    sealing.unseal(source, plain, phrase)
    return plain


def _refuse_if_in_use() -> None:
    try:
        in_use = _in_use()
    except StoreAway as away:
        raise NotPossible(away.sentence) from away
    if in_use:
        raise NotPossible(
            "This desk holds data already. Put the backup into an empty one: set KITDESK_VAR to a"
            " new folder, and KITDESK_FILES, where it is set, to a new place."
        )


def _in_use() -> bool:
    accounts = get_user_model()
    has_accounts_table = accounts._meta.db_table in connection.introspection.table_names()
    if has_accounts_table and accounts._default_manager.exists():
        return True
    return next(_storage().names(), None) is not None


def _applied() -> set[str]:
    return {f"{app}.{name}" for app, name in MigrationLoader(connection).applied_migrations}


def _check(
    archive: zipfile.ZipFile, source: Path
) -> tuple[dict[str, manifest.PackedFile], dict[int, str]]:
    """What the backup holds and where its log stood, once its head, its names and its version are
    in order.
    """
    no_backup = f"{source} is no backup of Kitdesk."
    names = archive.namelist()
    if ABOUT not in names or not set(_COPIES) & set(names):
        raise NotPossible(no_backup)
    try:
        about = json.loads(archive.read(ABOUT))
        own_migrations = {f"{app}.{name}" for app, name in MigrationLoader(None).disk_migrations}
        kind = about["kitdesk_backup"]
        newer = kind not in (1, FORMAT) or not set(about["migrations"]) <= own_migrations
        files = manifest.from_json(about["files"]) if kind == FORMAT else _of_old(archive)
        told = about.get("log_head", "0:")
        heads = {} if told == "0:" else dict([head_from_words(told)])
    except (ValueError, KeyError, TypeError, RecursionError) as problem:
        raise NotPossible(no_backup) from problem
    if newer:
        raise NotPossible(f"{source} was made by a newer Kitdesk; bring this one up to date first.")
    for name in names:
        if name != ABOUT and not _belongs(name):
            raise NotPossible(
                f"{source} holds a file that no backup has: {name!r}. Nothing was changed."
            )
    manifest.check_names(archive, files, ABOUT)
    return files, heads


def _of_old(archive: zipfile.ZipFile) -> dict[str, manifest.PackedFile]:
    files = manifest.without_manifest(archive)
    files.pop(ABOUT)
    return files


def _belongs(name: str) -> bool:
    parts = PurePosixPath(name).parts
    is_ours = name in (*_COPIES, KEY, LOG_KEY) or parts[:1] == (MEDIA,)
    return is_ours and ".." not in parts and "\\" not in name and "\x00" not in name


def _move_in(folder: Path, copy: Path) -> None:
    """The database comes last: without it the desk still counts as empty, and the restore can be
    repeated.
    """
    media = folder / MEDIA
    for path in sorted(media.rglob("*")):
        if path.is_file():
            with path.open("rb") as stream:
                _storage().put(path.relative_to(media).as_posix(), File(stream))
    for key in (KEY, LOG_KEY):
        if (folder / key).exists():
            (folder / key).replace(settings.VAR / key)
    database_copy.move_in(copy)
    # This process began with other keys than those of the desk that came back.
    if not env.str("SECRET_KEY", default=""):
        settings.SECRET_KEY = kept_secret(settings.VAR / KEY)
    if not env.str("KITDESK_LOG_KEY", default=""):
        settings.KITDESK_LOG_KEY = kept_secret(settings.VAR / LOG_KEY)
