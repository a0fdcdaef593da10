"""The folder of a desk that moves: its files written for this account alone, hashed as they are
written, listed in a manifest; and held against that list before anything of it is believed.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any

from kitdesk.backups.manifest import PackedFile, as_json, from_json
from kitdesk.backups.problems import NotPossible
from rentals.actions.erased_list import LIST as ERASED

FORMAT = 1
MANIFEST, SEAL = "manifest.json", "manifest.sha256"
_PIECE = 1024 * 1024
#: Beside the manifest: its own hash, and students who are erased after the export was made.
_UNLISTED = {MANIFEST, SEAL, ERASED}


class HashedFile:
    """A file that is being written, with its size in bytes and its SHA-256 so far."""

    def __init__(self, stream: IO[bytes]) -> None:
        self._stream, self._digest, self._size = stream, hashlib.sha256(), 0

    def write(self, piece: bytes) -> None:
        """Add to its end."""
        self._digest.update(piece)
        self._size += len(piece)
        self._stream.write(piece)

    def packed(self) -> PackedFile:
        """What the manifest says of it."""
        return PackedFile(self._size, self._digest.hexdigest())


class Listing:
    """The files of a folder, each listed once it is written."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.files: dict[str, PackedFile] = {}

    @contextmanager
    def writing(self, name: str) -> Iterator[HashedFile]:
        """A new file below the folder, for this account alone."""
        path = self.folder / name
        _make_folders(path.parent)
        with open(path, "xb", opener=_for_oneself) as stream:
            file = HashedFile(stream)
            yield file
        self.files[name] = file.packed()

    def close(self, about: dict[str, Any]) -> None:
        """Write the manifest, with what is said about the whole; nothing is added after it."""
        words = about | {"kitdesk_export": FORMAT, "files": as_json(self.files)}
        with self.writing(MANIFEST) as file:
            file.write(json.dumps(words, indent=1).encode() + b"\n")
        digest = self.files.pop(MANIFEST).digest
        with self.writing(SEAL) as file:
            file.write(_seal_of(digest))


def _make_folders(folder: Path) -> None:
    if not folder.is_dir():
        _make_folders(folder.parent)
        folder.mkdir(mode=0o700)


def _for_oneself(path: str, flags: int) -> int:
    return os.open(path, flags, 0o600)


def checked_listing(folder: Path) -> tuple[dict[str, Any], dict[str, PackedFile]]:
    """What the manifest says about the whole, and its files, once every one of them is there and is
    what was written. Raises NotPossible with the name of the first that is not.
    """
    about = _manifest(folder)
    try:
        files = from_json(about["files"])
    except (KeyError, ValueError, TypeError) as problem:
        raise NotPossible(f"{folder / MANIFEST} lists no files. {_AGAIN}") from problem
    found = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if not path.is_dir()}
    if lacking := sorted(set(files) - found):
        raise NotPossible(f"{folder} is not whole: it lacks {lacking[0]!r}. {_AGAIN}")
    if foreign := sorted(found - set(files) - _UNLISTED):
        raise NotPossible(
            f"{folder} holds a file that its manifest does not list: {foreign[0]!r}. Nothing was"
            " changed. Move it elsewhere, then import again."
        )
    for name, packed in files.items():
        if (folder / name).is_symlink() or not (folder / name).is_file():
            raise NotPossible(f"{name!r} is no file but leads elsewhere. {_AGAIN}")
        if _packed(folder / name) != packed:
            raise _not_as_written(name)
    return about, files


_AGAIN = "Nothing was changed. Copy the folder again from where it was exported to."


def _not_as_written(name: str) -> NotPossible:
    return NotPossible(f"{name!r} is not what was exported: changed or damaged. {_AGAIN}")


def _manifest(folder: Path) -> dict[str, Any]:
    try:
        content = (folder / MANIFEST).read_bytes()
        seal = (folder / SEAL).read_bytes()
    except FileNotFoundError as problem:
        raise NotPossible(
            f"{folder} holds no whole export of Kitdesk: {Path(problem.filename).name} is missing."
        ) from problem
    if seal != _seal_of(hashlib.sha256(content).hexdigest()):
        raise _not_as_written(MANIFEST)
    try:
        about = json.loads(content)
    except (ValueError, RecursionError):
        about = None
    if not isinstance(about, dict) or about.get("kitdesk_export") != FORMAT:
        raise NotPossible(
            f"{folder} was written in a form that this Kitdesk does not read. Import it with the"
            " Kitdesk it was exported with."
        )
    return about


def _seal_of(digest: str) -> bytes:
    """As `sha256sum` writes it, which can check it too."""
    return f"{digest}  {MANIFEST}\n".encode()


def _packed(path: Path) -> PackedFile:
    with path.open("rb") as stream:
        size = os.fstat(stream.fileno()).st_size
        return PackedFile(size, hashlib.file_digest(stream, "sha256").hexdigest())


def pieces(stream: IO[bytes]) -> Iterator[bytes]:
    """A file in pieces of 1 MiB."""
    while piece := stream.read(_PIECE):
        yield piece
