"""Files of the desk that are there in full or not at all."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from django.core.files import File
from django.core.files.storage import FileSystemStorage
from django.utils.deconstruct import deconstructible


@deconstructible(path="kitdesk.whole_files.WholeFileStorage")
class WholeFileStorage(FileSystemStorage):
    """Keeps files in a folder; what a full disk cuts short does not stay there as half a file."""

    def _save(self, name: str, content: File) -> str:
        place = Path(self.path(name))
        was_there = place.exists()
        try:
            return super()._save(name, content)  # type: ignore[misc]
        except OSError:
            if not was_there:
                place.unlink(missing_ok=True)
            raise

    def names(self) -> Iterator[str]:
        """Names of all files, in their order."""
        root = Path(self.location)
        for path in sorted(root.rglob("*")):
            if path.is_file():
                yield path.relative_to(root).as_posix()

    def put(self, name: str, content: File) -> None:
        """Keep a file under this very name, in one step; one that is there goes with it."""
        unfinished = self.save(f"{name}.part", content)
        Path(self.path(unfinished)).replace(self.path(name))
