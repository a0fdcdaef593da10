"""What a backup holds, file by file: written into it, and held against it when it is put back.

Nothing that the archive's own head claims is believed: sizes and hashes are those of the manifest,
and no file is unpacked beyond them.
"""

from __future__ import annotations

import hashlib
import shutil
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from kitdesk.backups.problems import NotPossible

#: Opens one file to be packed.
Source = Callable[[], Any]
_PIECE = 1024 * 1024
#: Bytes that stay free on the disk a backup is unpacked to.
LEFT_FREE = 100 * 1024 * 1024
#: A backup of before manifests is held to this in all, and each file to what the archive says.
MOST_WITHOUT = 64 * 1024**3


@dataclass(frozen=True)
class PackedFile:
    """One file of a backup: bytes, and SHA-256 in hexadecimal; the latter empty where the backup is
    older than manifests.
    """

    size: int
    digest: str


def pack(archive: zipfile.ZipFile, source: Source, name: str) -> PackedFile | None:
    """Put one file into the archive under `name`; None where it has gone meanwhile."""
    digest, size = hashlib.sha256(), 0
    try:
        stream = source()
    except FileNotFoundError:
        return None
    with stream, archive.open(name, "w", force_zip64=True) as target:
        while piece := stream.read(_PIECE):
            digest.update(piece)
            size += len(piece)
            target.write(piece)
    return PackedFile(size, digest.hexdigest())


def as_json(files: dict[str, PackedFile]) -> dict[str, list[int | str]]:
    """The manifest as it stands in the backup: name to size and SHA-256."""
    return {name: [packed.size, packed.digest] for name, packed in sorted(files.items())}


def from_json(listed: object) -> dict[str, PackedFile]:
    """Read it back. Raises ValueError where it is no manifest."""
    if not isinstance(listed, dict):
        raise ValueError("no list of files")
    files = {}
    for name, (size, digest) in listed.items():
        if type(size) is not int or size < 0 or not isinstance(digest, str) or len(digest) != 64:
            raise ValueError(f"{name!r} has no size or no hash")
        files[name] = PackedFile(size, digest)
    return files


def without_manifest(archive: zipfile.ZipFile) -> dict[str, PackedFile]:
    """What an older backup says of itself."""
    return {entry.filename: PackedFile(entry.file_size, "") for entry in archive.infolist()}


def check_names(archive: zipfile.ZipFile, files: dict[str, PackedFile], about: str) -> None:
    """Refuse a backup that lacks a file of its manifest, holds another one, or one twice.

    Raises NotPossible.
    """
    names = archive.namelist()
    if len(set(names)) != len(names):
        raise NotPossible("The backup holds a file twice. Nothing was changed.")
    listed, held = set(files) | {about}, set(names)
    if lacking := sorted(listed - held):
        raise NotPossible(f"The backup is not whole: it lacks {lacking[0]!r}. Nothing was changed.")
    if foreign := sorted(held - listed):
        raise NotPossible(
            f"The backup holds a file that it does not list: {foreign[0]!r}. Nothing was changed."
        )


def check_space(files: dict[str, PackedFile], folder: Path) -> None:
    """Refuse to begin what the disk cannot hold. Raises NotPossible."""
    needed = sum(packed.size for packed in files.values())
    if any(not packed.digest for packed in files.values()) and needed > MOST_WITHOUT:
        raise NotPossible("The backup claims to be larger than any desk. Nothing was changed.")
    free = shutil.disk_usage(folder).free
    if needed + LEFT_FREE > free:
        raise NotPossible(
            f"What is to be put back takes {needed / 1e6:,.0f} MB, and {folder} has"
            f" {free / 1e6:,.0f} MB free. Make room there, or set KITDESK_VAR to another disk."
        )


def unpack(archive: zipfile.ZipFile, files: dict[str, PackedFile], folder: Path) -> None:
    """Write every file of the manifest below `folder`, each as large and with the hash it lists.

    Raises NotPossible at the first that is not.
    """
    for name, packed in files.items():
        target = folder / PurePosixPath(name)
        target.parent.mkdir(parents=True, exist_ok=True)
        with archive.open(name) as source, target.open("wb") as out:
            target.chmod(0o600)
            digest, size = hashlib.sha256(), 0
            while piece := source.read(_PIECE):
                size += len(piece)
                if size > packed.size:
                    break
                digest.update(piece)
                out.write(piece)
        if size != packed.size or (packed.digest and digest.hexdigest() != packed.digest):
            raise NotPossible(
                f"{name!r} in the backup is not what was put in: it was changed or damaged. Nothing"
                " of this desk was changed. Take another backup."
            )
