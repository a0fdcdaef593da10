"""Captures and photos in an S3-compatible store.

Imported only where the settings name such a store: its library takes most of a second to load.
"""

from __future__ import annotations

import functools
import logging
import shutil
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from typing import Any, NoReturn

import boto3.session
from boto3.exceptions import Boto3Error
from boto3.s3.transfer import TransferConfig
from botocore.config import Config
from botocore.exceptions import (
    BotoCoreError,
    ClientError,
    HTTPClientError,
    NoCredentialsError,
    PartialCredentialsError,
)
from django.core.files.base import ContentFile, File
from storages.backends.s3 import S3Storage
from storages.utils import clean_name

from kitdesk.store_words import sentence_for_answer, sentence_for_no_answer, sentence_for_no_keys
from rentals.store_away import StoreAway

log = logging.getLogger(__name__)
_CONNECT_S = 3.0
_TRIES = 2
_MIB = 1024 * 1024
#: What is larger goes to a temporary file on its way in.
_IN_MEMORY = 2 * _MIB
#: A file is put in one piece, so it is there in full or not at all; larger ones are joined there.
_IN_ONE_PIECE = 64 * _MIB
_PROBE = ".kitdesk-may-write"
#: Sessions are not made for several threads at once.
_making = threading.RLock()
_ABSENT = ("404", "NoSuchKey", "NotFound")


class ObjectStore(S3Storage):
    """Files as private objects of one bucket, reached through Kitdesk's own pages only.

    What the store refuses, and its silence, is raised as StoreAway; a file that is not there as
    FileNotFoundError.
    """

    def __init__(self, *, timeout_s: float = 5.0, **options: Any) -> None:
        has_endpoint = bool(options.get("endpoint_url"))
        fixed = {
            "file_overwrite": False,
            "default_acl": None,
            "querystring_auth": True,
            "max_memory_size": _IN_MEMORY,
            "transfer_config": TransferConfig(use_threads=False, multipart_threshold=_IN_ONE_PIECE),
            "client_config": Config(
                connect_timeout=min(_CONNECT_S, timeout_s),
                read_timeout=timeout_s,
                retries={"total_max_attempts": _TRIES, "mode": "standard"},
                signature_version="s3v4",
                s3={"addressing_style": "path" if has_endpoint else "auto"},
                # Stores of other makers do not all know the newer sums.
                request_checksum_calculation="when_required",
                response_checksum_validation="when_required",
            ),
        }
        super().__init__(**options, **fixed)

    def _create_session(self) -> boto3.session.Session:
        return _session(self.access_key, self.secret_key, self.security_token)

    @property
    def connection(self) -> Any:
        """The library's own, one for each thread; made by one thread at a time."""
        with _making:
            return super().connection

    @property
    def _client(self) -> Any:
        return self.connection.meta.client

    def _key(self, name: str) -> str:
        return str(self._normalize_name(clean_name(name)))

    # Django's interface --------------------------------------------------
    def _open(self, name: str, mode: str = "rb") -> File:
        """The whole file, fetched before anything of it is given out: in memory while it is small,
        else in a temporary file.
        """
        if mode != "rb":
            raise ValueError(f"Files of the store are read as bytes, not as {mode!r}.")
        fetched = tempfile.SpooledTemporaryFile(max_size=_IN_MEMORY)  # noqa: SIM115  (File closes it)
        try:
            with self._in_words(name):
                answer = self._client.get_object(Bucket=self.bucket_name, Key=self._key(name))
                with answer["Body"] as body:
                    shutil.copyfileobj(body, fetched)
        except BaseException:
            fetched.close()
            raise
        fetched.seek(0)
        return File(fetched, name=name)

    def _save(self, name: str, content: File) -> str:
        with self._in_words(name):
            return str(super()._save(name, content))

    def delete(self, name: str) -> None:
        """Take the file away; one that is not there is no fault. Raises StoreAway."""
        with self._in_words(name):
            super().delete(name)

    def exists(self, name: str) -> bool:
        """Whether the file is there. Raises StoreAway."""
        with self._in_words(name):
            return bool(super().exists(name))

    def size(self, name: str) -> int:
        """Bytes of the file. Raises FileNotFoundError and StoreAway."""
        with self._in_words(name):
            return int(super().size(name))

    def get_modified_time(self, name: str) -> datetime:
        """When the file was put there. Raises FileNotFoundError and StoreAway."""
        with self._in_words(name):
            return super().get_modified_time(name)

    def listdir(self, name: str) -> tuple[list[str], list[str]]:
        """Folders and files in a folder. Raises StoreAway."""
        with self._in_words(name):
            folders, files = super().listdir(name)
            return folders, files

    def url(self, name: str | None, *args: Any, **more: Any) -> NoReturn:
        """No file has an address of its own: each is shown by a page that asks who may see it."""
        raise ValueError("Files are handed out by Kitdesk's own pages alone.")

    # What Kitdesk asks besides -------------------------------------------
    def names(self) -> Iterator[str]:
        """Names of all files, in their order. Raises StoreAway."""
        prefix = f"{self.location}/" if self.location else ""
        pages = self._client.get_paginator("list_objects_v2")
        with self._in_words(prefix):
            for page in pages.paginate(Bucket=self.bucket_name, Prefix=prefix):
                for entry in page.get("Contents", ()):
                    yield entry["Key"][len(prefix) :]

    def put(self, name: str, content: File) -> None:
        """Keep a file under this very name, in one step; one that is there goes with it. Raises
        StoreAway.
        """
        self._save(name, content)

    def try_out(self) -> None:
        """See that files can be listed, written and taken away again. Raises StoreAway."""
        with self._in_words(_PROBE):
            self._client.list_objects_v2(Bucket=self.bucket_name, MaxKeys=1)
        self.put(_PROBE, ContentFile(b"kitdesk"))
        self.delete(_PROBE)

    @contextmanager
    def _in_words(self, name: str) -> Iterator[None]:
        """Raise what the library raises as what it means."""
        place = self.endpoint_url or f"the store of the bucket {self.bucket_name}"
        try:
            yield
        except ClientError as problem:
            error = problem.response.get("Error", {})
            code = str(error.get("Code", ""))
            if code in _ABSENT:
                raise FileNotFoundError(f"{name} is not in the store of files.") from problem
            words = str(error.get("Message", ""))
            sentence = sentence_for_answer(code, words, bucket=str(self.bucket_name), place=place)
            raise _away(sentence) from problem
        except (NoCredentialsError, PartialCredentialsError) as problem:
            raise _away(sentence_for_no_keys()) from problem
        except (BotoCoreError, HTTPClientError, Boto3Error) as problem:
            raise _away(sentence_for_no_answer(place)) from problem


def _away(sentence: str) -> StoreAway:
    """Logged here, since most pages say only that the files are away."""
    log.warning("%s", sentence)
    return StoreAway(sentence)


@functools.cache
def _session(*keys: str | None) -> boto3.session.Session:
    """One for all threads: it reads the description of the interface, some megabytes, once."""
    key, secret, token = keys
    return boto3.session.Session(
        aws_access_key_id=key, aws_secret_access_key=secret, aws_session_token=token
    )
