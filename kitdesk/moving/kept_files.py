"""The files of a desk, wherever its storage keeps them: listed, copied out, and put in place."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from django.core.files import File
from django.core.files.storage import FileSystemStorage, default_storage

from kitdesk.backups.manifest import PackedFile, check_space
from kitdesk.backups.problems import NotPossible
from rentals.store_away import StoreAway

from .listing import Listing, pieces

FILES = "files"


def names_of_files() -> list[str]:
    """Every file that is kept, as its row names it. Raises StoreAway."""
    storage: Any = default_storage
    return list(storage.names())


def copy_out(names: list[str], listing: Listing) -> None:
    """Write the files into the folder. One that has gone meanwhile is left out: it was erased.
    Raises StoreAway.
    """
    for name in names:
        try:
            source = default_storage.open(name)
        except FileNotFoundError:
            continue
        with source, listing.writing(f"{FILES}/{name}") as target:
            for piece in pieces(source):
                target.write(piece)


def check_room(files: dict[str, PackedFile]) -> None:
    """Refuse a desk that keeps files of its own, or whose disk is too small. What an import that
    was cut off has left is no hindrance. Raises NotPossible and StoreAway.
    """
    if foreign := sorted(set(names_of_files()) - set(files)):
        raise NotPossible(
            f"This desk keeps files already, for example {foreign[0]!r}. Import into an empty one:"
            " set KITDESK_VAR to a new folder, and KITDESK_FILES, where it is set, to a new place."
        )
    if isinstance(default_storage, FileSystemStorage):
        place = Path(default_storage.location)
        check_space(files, next(path for path in (place, *place.parents) if path.exists()))


@contextmanager
def putting_in_place(folder: Path, names: list[str]) -> Iterator[None]:
    """Put the files where the desk keeps them; where what follows fails, they are taken away
    again. Where even that cannot be done, the next import does not mind them. Raises NotPossible
    and StoreAway.
    """
    try:
        for name in names:
            _put(folder, name)
        yield
    except BaseException:
        with suppress(StoreAway):
            for name in names:
                default_storage.delete(name)
        raise


def _put(folder: Path, name: str) -> None:
    default_storage.delete(name)
    with (folder / FILES / name).open("rb") as source:
        placed = default_storage.save(name, File(source, name))
    if placed != name:
        default_storage.delete(placed)
        raise NotPossible(f"The file {name!r} cannot be kept under its own name. Nothing stays.")
