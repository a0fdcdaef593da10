"""Weighing, hashing and storing the files of a drop, before the transaction that keeps them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from django.conf import settings
from django.core.files.base import File

from readiness.intake.matching import Named, read_name
from readiness.models import Capture
from readiness.models.captures import own_name
from rentals.laid_files import LaidFile, LayDown, digest_of, laying_down

from .partners import with_partners

LONGEST_NAME = 255


@dataclass(frozen=True)
class DroppedFile:
    """One file of a drop and what its name says: `away` is why it is not taken, else `digest` is
    the SHA-256 of its bytes. They are stored unless the desk had them before, or an earlier file of
    the drop is the same.
    """

    name: str
    said: Named
    sent_as: str
    size: int
    away: str = ""
    digest: str = ""
    laid: LaidFile | None = None


@contextmanager
def laid_drop(files: Iterable[File]) -> Iterator[list[DroppedFile]]:
    """The files of one drop, in their order, their bytes stored for as long as the block lasts;
    those that rows name stay. Files of one recording become one. Raises OSError.
    """
    with laying_down() as lay:
        yield _lay_down(with_partners(files), lay)


def _lay_down(files: list[File], lay: LayDown) -> list[DroppedFile]:
    away = [wrong_size(file.size) for file in files]
    digests = [
        "" if sentence else digest_of(file) for file, sentence in zip(files, away, strict=True)
    ]
    known = {"", *Capture.objects.filter(sha256__in=digests).values_list("sha256", flat=True)}
    drop = []
    for file, sentence, digest in zip(files, away, digests, strict=True):
        laid = None
        if digest not in known:
            laid = lay(own_name(Capture(sha256=digest), ""), file, digest)
            known.add(digest)
        sent_as = file.name or ""
        name = shown_name(sent_as)
        said = read_name(name)
        drop.append(DroppedFile(name, said, sent_as, file.size, sentence, digest, laid))
    return drop


def wrong_size(size: int) -> str:
    """Why a file of so many bytes is not taken; empty where it is."""
    most = settings.KITDESK_CAPTURE_MAX_BYTES
    if size == 0:
        return (
            "The file is empty. Save the capture again and drop it once the program has closed it."
        )
    if size > most:
        return (
            f"The file has {size / 2**20:.1f} MiB; at most {most // 2**20} MiB are taken."
            " Save only the ten seconds."
        )
    return ""


def shown_name(name: str | None) -> str:
    """A file's name as it is kept and shown: no folders, nothing that cannot be printed, 255
    characters at most.
    """
    last_part = str(name or "").replace("\\", "/").rpartition("/")[2]
    printable = "".join(char if char.isprintable() else "?" for char in last_part)
    return printable[:LONGEST_NAME] or "without a name"
