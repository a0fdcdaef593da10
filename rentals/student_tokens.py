"""The unguessable part of the address of a student's page. Pure: no rows, no settings.

A token is worked out from the loan and a random number of its link by HMAC, with a key that is in
no table. So whoever reads the database, or a copy of it, can open no student's page; the desk finds
a link by the SHA-256 of the token alone.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import re
import secrets

NONCE_BYTES = 32
#: Stands in the stored text of a mail for the token, which is put in when the mail leaves.
MARKER = "•" * 8
_MARKED = f"/my-kit/{MARKER}/"
_PATH_WITH_TOKEN = re.compile(r"(/my-kit/)[^/\s\"'<>]+")


def new_nonce() -> str:
    """A random number as text, another one each time."""
    return secrets.token_hex(NONCE_BYTES)


def token_of(key: bytes, loan: int, nonce: str) -> str:
    """The token of a loan's link: 256 bits in 43 letters that an address may hold."""
    digest = hmac.new(key, f"{loan}:{nonce}".encode(), hashlib.sha256).digest()
    return base64.urlsafe_b64encode(digest).rstrip(b"=").decode()


def token_digest(token: str) -> str:
    """What is kept of a token: its SHA-256 as hexadecimal text."""
    return hashlib.sha256(token.encode()).hexdigest()


def page_address(site: str, token: str) -> str:
    """The address of a student's page below a site's address."""
    return f"{site.rstrip('/')}/my-kit/{token}/"


def marked_address(site: str) -> str:
    """The same as a stored text holds it: with the marker where the token will stand."""
    return page_address(site, MARKER)


def has_marker(text: str) -> bool:
    """Whether a stored text holds the address of a student's page."""
    return _MARKED in text


def with_token(text: str, token: str) -> str:
    """A stored text as it leaves: every marker replaced by the token."""
    return text.replace(_MARKED, f"/my-kit/{token}/")


def without_tokens(text: str) -> str:
    """A text in which no address of a student's page can be read, as for a log."""
    return _PATH_WITH_TOKEN.sub(rf"\1{MARKER}", text)
