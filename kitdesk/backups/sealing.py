"""A backup sealed with a pass phrase: read by nobody without it, and altered by nobody unseen.

The key comes from the pass phrase by scrypt (RFC 7914); pieces of a mebibyte are sealed with
AES-GCM, each with its number and whether it is the last one in its nonce (the STREAM construction
of Hoang, Reyhanitabar, Rogaway and Vizár, 2015), so that none can be left out, moved or cut off.
"""

from __future__ import annotations

import os
import struct
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

from kitdesk.backups.problems import NotPossible

MAGIC = b"Kitdesk sealed backup 1\n"
_SALT, _PREFIX, _TAG = 16, 7, 16
_HEAD = len(MAGIC) + _SALT + _PREFIX
_PIECE = 1024 * 1024
#: 64 MiB and some tenths of a second for each guess.
_SCRYPT = {"n": 2**16, "r": 8, "p": 1}


def is_sealed(file: Path) -> bool:
    """Whether the file begins as a sealed backup does."""
    with file.open("rb") as stream:
        return stream.read(len(MAGIC)) == MAGIC


def seal(source: Path, target: Path, phrase: str) -> None:
    """Write `source`, sealed, to `target`."""
    head = MAGIC + os.urandom(_SALT + _PREFIX)
    cipher = _cipher(head, phrase)
    with source.open("rb") as plain, target.open("wb") as out:
        out.write(head)
        for number, (piece, is_last) in enumerate(_pieces(plain, _PIECE)):
            out.write(cipher.encrypt(_nonce(head, number, is_last), piece, head))


def unseal(source: Path, target: Path, phrase: str) -> None:
    """Write what is sealed in `source` to `target`.

    Raises NotPossible for a wrong pass phrase, and for a file that was changed or cut off.
    """
    with source.open("rb") as sealed, target.open("wb") as out:
        target.chmod(0o600)
        head = sealed.read(_HEAD)
        if len(head) < _HEAD or not head.startswith(MAGIC):
            raise NotPossible(f"{source} is no sealed backup of Kitdesk.")
        cipher = _cipher(head, phrase)
        for number, (piece, is_last) in enumerate(_pieces(sealed, _PIECE + _TAG)):
            try:
                out.write(cipher.decrypt(_nonce(head, number, is_last), piece, head))
            except InvalidTag as problem:
                raise NotPossible(_why(source, number)) from problem


def _why(source: Path, number: int) -> str:
    if number == 0:
        return f"{source} does not open: the pass phrase is another one, or the file was changed."
    return f"{source} was changed or cut off after {number} MiB. Take another backup."


def _cipher(head: bytes, phrase: str) -> AESGCM:
    salt = head[len(MAGIC) : len(MAGIC) + _SALT]
    key = Scrypt(salt=salt, length=32, **_SCRYPT).derive(phrase.encode())
    return AESGCM(key)


def _nonce(head: bytes, number: int, is_last: bool) -> bytes:
    return head[-_PREFIX:] + struct.pack(">IB", number, is_last)


def _pieces(stream: BinaryIO, size: int) -> Iterator[tuple[bytes, bool]]:
    """The stream in pieces, each with whether it is the last; an empty one is one piece."""
    piece = stream.read(size)
    while True:
        following = stream.read(size)
        yield piece, not following
        if not following:
            return
        piece = following
