"""The files of a desk, wherever its storage keeps them: listed, copied out, and put in place."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.core.files import File
from django.core.files.storage import default_storage

from kitdesk.backups.problems import NotPossible

from .listing import Listing, pieces

FILES = "files"


def names_of_files(folder: str = "") -> Iterator[str]:
    """Every file that is kept, as its row names it."""
    try:
        folders, files = default_storage.listdir(folder)
    except FileNotFoundError:
        return
    inside = f"{folder}/" if folder else ""
    yield from (inside + name for name in sorted(files))
    for name in sorted(folders):
        yield from names_of_files(inside + name)


def copy_out(names: list[str], listing: Listing) -> None:
    """Write the files into the folder. One that has gone meanwhile is left out: it was erased."""
    for name in names:
        try:
            source = default_storage.open(name)
        except FileNotFoundError:
            continue
        with source, listing.writing(f"{FILES}/{name}") as target:
            for piece in pieces(source):
                target.write(piece)


def check_room(names: list[str]) -> None:
    """Refuse a desk that keeps files of its own. What an import that was cut off has left is no
    hindrance. Raises NotPossible.
    """
    if foreign := sorted(set(names_of_files()) - set(names)):
        raise NotPossible(
            f"This desk keeps files already, for example {foreign[0]!r}. Import into an empty one:"
            " set KITDESK_VAR to a new folder."
        )


@contextmanager
def putting_in_place(folder: Path, names: list[str]) -> Iterator[None]:
    """Put the files where the desk keeps them; where what follows fails, they are taken away
    again. Raises NotPossible.
    """
    try:
        for name in names:
            _put(folder, name)
        yield
    except BaseException:
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
