"""Where captures and photos are kept: a folder, or a bucket in an S3-compatible store. Imports
nothing of Django and of the store's library: the settings ask here.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, urlsplit

#: Environment variables: captures and photos; the backups once more.
PLACE, COPIES = "KITDESK_FILES", "KITDESK_BACKUPS_S3"
_SCHEME = "s3"
_ENCRYPTIONS = ("AES256", "aws:kms")
_KNOWN = ("endpoint", "region", "encryption", "timeout")
_LIKE = f"{_SCHEME}://bucket/folder?endpoint=https://store.example.org&region=eu-1"
#: Seconds that one answer of the store may take.
_TIMEOUT_S, _LONGEST_TIMEOUT_S = 5.0, 60.0


class WrongPlace(ValueError):
    """What was given names no place for files; the sentence says what to write instead."""


@dataclass(frozen=True)
class FilePlace:
    """A place for files: the folder, or the options of `kitdesk.object_store.ObjectStore`."""

    folder: Path | None = None
    options: dict[str, Any] | None = None

    @property
    def backend(self) -> dict[str, Any]:
        """As an entry of Django's STORAGES."""
        if self.options is None:
            return {"BACKEND": "kitdesk.whole_files.WholeFileStorage"}
        return {"BACKEND": "kitdesk.object_store.ObjectStore", "OPTIONS": self.options}


def place_problem() -> str | None:
    """Why the environment names no place for files, or none for copies of backups; None where it
    does.
    """
    try:
        file_place(os.environ.get(PLACE, ""))
        copies_place(os.environ.get(COPIES, ""))
    except WrongPlace as problem:
        return str(problem)
    return None


def copies_place(words: str) -> FilePlace:
    """The bucket into which each backup goes once more; nothing means none. Raises WrongPlace."""
    try:
        place = file_place(words)
    except WrongPlace as problem:
        raise WrongPlace(str(problem).replace(PLACE, COPIES)) from problem
    if place.folder is not None:
        raise WrongPlace(f"{COPIES} is {words!r}: give an address such as {_LIKE}")
    return place


def file_place(words: str) -> FilePlace:
    """The place that is meant: a full path, or an address as ``s3://bucket/folder?endpoint=...``.
    Nothing means no place of one's own. Raises WrongPlace.
    """
    if not words:
        return FilePlace()
    if not words.startswith(f"{_SCHEME}:"):
        folder = Path(words)
        if "://" in words or not folder.is_absolute():
            raise WrongPlace(
                f"{PLACE} is {words!r}: give the full path of a folder, or an address such as"
                f" {_LIKE}"
            )
        return FilePlace(folder=folder)
    return FilePlace(options=_options(words))


def _options(words: str) -> dict[str, Any]:
    address = urlsplit(words)
    if "@" in address.netloc:
        raise WrongPlace(
            f"{PLACE} holds a key. Keys come from AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY."
        )
    if not address.netloc:
        raise WrongPlace(f"{PLACE} names no bucket. Write it as {_LIKE}")
    given = dict(parse_qsl(address.query))
    if unknown := sorted(set(given) - set(_KNOWN)):
        raise WrongPlace(f"{PLACE} says {unknown[0]!r}; it knows {', '.join(_KNOWN)}.")
    endpoint = given.get("endpoint")
    if endpoint and urlsplit(endpoint).scheme not in ("http", "https"):
        raise WrongPlace(f"The endpoint in {PLACE} begins with https://, as in {_LIKE}")
    encryption = given.get("encryption", "")
    if encryption not in ("", *_ENCRYPTIONS):
        raise WrongPlace(f"The encryption in {PLACE} is one of {', '.join(_ENCRYPTIONS)}.")
    return {
        "bucket_name": address.netloc,
        "location": address.path.strip("/"),
        "endpoint_url": endpoint,
        "region_name": given.get("region"),
        "object_parameters": {"ServerSideEncryption": encryption} if encryption else {},
        "timeout_s": _seconds(given.get("timeout", "")),
    }


def _seconds(words: str) -> float:
    try:
        seconds = float(words or _TIMEOUT_S)
    except ValueError:
        seconds = 0.0
    if not 0 < seconds <= _LONGEST_TIMEOUT_S:
        raise WrongPlace(
            f"The timeout in {PLACE} is a number of seconds, at most {_LONGEST_TIMEOUT_S:.0f}."
        )
    return seconds
