"""Bytes first: a file from outside is stored under a fresh name before the act that names it. So no
transaction, and nobody who waits for its lock, waits for a disk or a store of files.

    with laying_down() as lay:          # outside of any transaction
        laid = lay("damage/photo.jpg", content, digest_of(content))
        keep(laid)                      # an act: its row takes `laid.named()`

What no row has named when the block ends is taken away again; what a killed process leaves behind,
`kitdesk.stray_files` finds a day later.
"""

from __future__ import annotations

import hashlib
import logging
import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import PurePosixPath
from typing import Any

from django.core.files.base import File
from django.core.files.storage import default_storage

from rentals import transaction

PIECE = 1024 * 1024
log = logging.getLogger(__name__)


class LaidFile:
    """A file whose bytes are stored. `name` is where, `digest` the SHA-256 of its bytes."""

    def __init__(self, name: str, digest: str) -> None:
        self.name, self.digest = name, digest
        self._is_named = self._is_settled = False

    def named(self) -> str:
        """Its name, for a row of the act under way; where that act fails, the row is none."""
        self._is_named = True
        transaction.on_rollback(self._row_is_gone)
        return self.name

    def _row_is_gone(self) -> None:
        self._is_named = False
        if self._is_settled:
            self._take_away()

    def settle(self) -> None:
        """Take it away unless a row names it."""
        self._is_settled = True
        if not self._is_named:
            self._take_away()

    def _take_away(self) -> None:
        _take_away(self.name)


def drop_after_act(name: str) -> None:
    """Take away a stored file whose row goes in the act under way, once that act is kept: nobody
    waits for a disk or a store, and an act that fails keeps its file. What cannot be taken away, or
    was not because the process was killed, is what no row names any more.
    """
    transaction.on_commit(partial(_take_away, name))


def _take_away(name: str) -> None:
    try:
        default_storage.delete(name)
    except Exception:
        log.exception("%s could not be taken away; a later look does it", name)


#: Stores a file under a name like the given one that no other file ever had; with its digest.
LayDown = Callable[[str, File, str], LaidFile]


@contextmanager
def laying_down() -> Iterator[LayDown]:
    """Store files as long as the block lasts. Raises OSError, also as StoreAway, where one cannot
    be stored.
    """
    laid: list[LaidFile] = []

    def lay(like: str, content: File, digest: str) -> LaidFile:
        file = LaidFile(_fresh(like), digest)
        # Before the bytes go out: what comes of a put that broke off goes as well.
        laid.append(file)
        content.seek(0)
        storage: Any = default_storage  # One of ours, which can do more than Django asks.
        storage.put(file.name, content)
        return file

    try:
        yield lay
    finally:
        for file in laid:
            file.settle()


def _fresh(like: str) -> str:
    path = PurePosixPath(like)
    return str(path.with_name(f"{path.stem}-{secrets.token_hex(8)}{path.suffix}"))


def digest_of(content: File) -> str:
    """SHA-256 of a file's bytes as hexadecimal text, read in pieces."""
    digest = hashlib.sha256()
    for piece in content.chunks(PIECE):
        digest.update(piece)
    return digest.hexdigest()
