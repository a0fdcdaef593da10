"""Captures that appear in a folder, and which of them are whole by now. Looks at names, sizes and
times only; opens, moves and deletes nothing.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

SUFFIXES = frozenset({".csv", ".tsv", ".txt", ".edf", ".bdf", ".wav"})
HEADER, SIGNAL = ".hea", ".dat"
"""A WFDB recording is two files of one name; it is whole when both stand still."""
LOOKS = 3
"""So many looks a file must stand still for: a program that saves in pieces pauses between them."""


@dataclass(frozen=True)
class SeenFile:
    """A file as it was at one look: another size or time makes it another. ``signal`` is the signal
    file of a WFDB header; size and time are then those of both.
    """

    path: Path
    size: int
    saved_ns: int
    signal: Path | None = None

    @property
    def saved_at(self) -> datetime:
        """When it was saved."""
        return datetime.fromtimestamp(self.saved_ns / 1e9, UTC)

    def is_unchanged(self) -> bool:
        """Whether the file on the disk is still as it was seen.

        Raises
        ------
        OSError
            If it cannot be looked at any more.
        """
        paths = [self.path] if self.signal is None else [self.path, self.signal]
        return _size_and_time([path.stat() for path in paths]) == (self.size, self.saved_ns)


class WatchedFolder:
    """A folder that is looked at again and again; each whole file is given once."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._looks: dict[SeenFile, int] = {}

    def look(self) -> list[SeenFile]:
        """Look once more; the files that have just stood still for ``LOOKS`` looks, oldest first.

        Raises
        ------
        OSError
            If the folder cannot be read.
        """
        self._looks = {seen: self._looks.get(seen, 0) + 1 for seen in self._seen()}
        whole = [seen for seen, looks in self._looks.items() if looks == LOOKS and seen.size]
        return sorted(whole, key=lambda seen: (seen.saved_ns, seen.path.name))

    def give_again(self, seen: SeenFile) -> None:
        """Give a file once more that could not be taken, when it has stood still anew."""
        self._looks[seen] = 0

    @property
    def growing(self) -> list[str]:
        """Names of files that are empty or have not stood still for long enough."""
        return sorted(
            seen.path.name
            for seen, looks in self._looks.items()
            if 0 < looks < LOOKS or not seen.size
        )

    def _seen(self) -> Iterator[SeenFile]:
        facts = self._facts()
        signals = {path.name.casefold(): path for path in facts}
        for path in facts:
            ending = path.suffix.lower()
            if ending in SUFFIXES:
                yield SeenFile(path, *_size_and_time([facts[path]]))
            elif ending == HEADER:
                signal = signals.get(f"{path.stem}{SIGNAL}".casefold())
                # A header whose signal file has not come yet is looked at again.
                if signal is not None:
                    yield SeenFile(path, *_size_and_time([facts[path], facts[signal]]), signal)

    def _facts(self) -> dict[Path, os.stat_result]:
        found = {}
        with os.scandir(self.folder) as entries:
            for entry in entries:
                if entry.name.startswith("."):
                    continue
                if Path(entry.name).suffix.lower() not in SUFFIXES | {HEADER, SIGNAL}:
                    continue
                try:
                    if entry.is_file():
                        found[Path(entry.path)] = entry.stat()
                except OSError:
                    # Gone between the listing and the look at it.
                    continue
        return found


def _size_and_time(facts: list[os.stat_result]) -> tuple[int, int]:
    return sum(fact.st_size for fact in facts), max(fact.st_mtime_ns for fact in facts)
