"""The secret of an access token, and what one may do with it. Pure: no rows, no settings.

A token is ``kitdesk_``, 32 letters and digits drawn at random (190 bits), and a checksum of six:
whoever looks through files for lost secrets finds it, and a mistyped one is known without a look
at the database. The desk keeps its SHA-256 alone.
"""

from __future__ import annotations

import hashlib
import re
import secrets
import string
import zlib

PREFIX = "kitdesk_"
_LETTERS = string.digits + string.ascii_uppercase + string.ascii_lowercase
_RANDOM, _CHECK = 32, 6
_SHAPE = re.compile(rf"{PREFIX}[0-9A-Za-z]{{{_RANDOM + _CHECK}}}")

#: What a token may be allowed to do, each with the sentence that the owner reads.
SCOPES = {
    "captures:write": "Send captures to the bench",
    "verdicts:read": "Read verdicts and findings of captures and kits",
    "kits:read": "Read kits and course runs with their states",
    "rosters:write": "Send rosters of course runs",
    "loans:read": "Read loans: kit, state, due date, tracking number",
    "students:read": "With loans: also read names and mail addresses of students",
}


def new_key() -> str:
    """A new secret, another one each time."""
    drawn = "".join(secrets.choice(_LETTERS) for _ in range(_RANDOM))
    return f"{PREFIX}{drawn}{_checksum(drawn)}"


def is_key(text: str) -> bool:
    """Whether a text has the shape of a token and its right checksum."""
    if _SHAPE.fullmatch(text) is None:
        return False
    return text[-_CHECK:] == _checksum(text[len(PREFIX) : -_CHECK])


def key_digest(key: str) -> str:
    """What is kept of a token: its SHA-256 as hexadecimal text."""
    return hashlib.sha256(key.encode()).hexdigest()


def without_keys(text: str) -> str:
    """A text in which no token can be read, as for a log."""
    return _SHAPE.sub(f"{PREFIX}{'•' * 8}", text)


def _checksum(drawn: str) -> str:
    rest, digits = zlib.crc32(drawn.encode()), ""
    for _ in range(_CHECK):
        rest, digit = divmod(rest, len(_LETTERS))
        digits = _LETTERS[digit] + digits
    return digits
