"""Files of a guided round for tests: nothing in them names kit or test."""

from __future__ import annotations

import os
from pathlib import Path

from readiness.actions.upload import RoundOfDrop, store_upload
from tests.readiness.captures import DEFAULT, capture_bytes, capture_file

UNNAMED = ("kit", "test")


def unnamed_file(name, test="still", **facts):
    """A capture that says neither its kit nor its test."""
    return capture_file(name, capture_bytes(test, drop=UNNAMED, **facts))


def unnamed_round(seed=1):
    """The three captures of the usual plan, named by number only."""
    return [unnamed_file(f"rec {n}.csv", test, seed=seed) for n, test in enumerate(DEFAULT, 1)]


def dropped(kit, files, *, only=True, **saved_at):
    """Drop files for the round of a kit; the upload."""
    return store_upload(files, dropped_for=RoundOfDrop(kit, only, saved_at))


def saved_recordings(folder: Path) -> list[Path]:
    """The captures of the usual plan as a recording program saves them: named by nothing, and their
    names in another order than their times.
    """
    paths = [folder / f"{letter}.csv" for letter in "cab"]
    for n, (path, test) in enumerate(zip(paths, DEFAULT, strict=True)):
        path.write_bytes(capture_bytes(test, drop=UNNAMED))
        saved_s = 4_000_000_000 + 60 * n
        os.utime(path, (saved_s, saved_s))
    return paths
