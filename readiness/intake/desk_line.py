"""The line to a desk elsewhere: one request, one answer, told apart by what is to be done next.

Standard library alone, so that it runs where no desk is set up.
"""

from __future__ import annotations

import json
import ssl
from collections.abc import Mapping
from dataclasses import dataclass
from http import HTTPStatus
from pathlib import Path
from typing import Any
from urllib.error import HTTPError, URLError
from urllib.parse import urlencode, urlsplit
from urllib.request import HTTPRedirectHandler, HTTPSHandler, Request, build_opener

TIMEOUT_S = 60
LOOPBACK = ("127.0.0.1", "localhost", "::1")
#: Answers that another try may change: the line, the server, or the token must be mended first.
_FOR_NOW = frozenset({401, 403, 405, 408, 429}) | frozenset(range(500, 600))


class LineTrouble(Exception):
    """The desk cannot be reached or does not take anything now; what is sent must wait.

    Parameters
    ----------
    sentence : str
        What is wrong and what to do.
    wait_s : int
        Seconds that the desk asked for; 0 where it named none.
    """

    def __init__(self, sentence: str, wait_s: int = 0) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.wait_s = wait_s


class FileRefused(Exception):
    """The desk does not take this file, now or later; the text is its sentence."""


class _NoWayRound(HTTPRedirectHandler):
    """Follows no redirect: the token would go along to whoever it names."""

    def redirect_request(self, *_: Any, **__: Any) -> None:
        return None


@dataclass(frozen=True)
class DeskLine:
    """A desk at an address, and the file with the token for it.

    ``ca`` is a file of certificates to trust beside none other, for a desk with one of its own.
    """

    address: str
    token_file: Path
    ca: Path | None = None

    def check(self) -> None:
        """Look at address, token and certificates before anything is sent.

        Raises
        ------
        LineTrouble
            If one of them cannot be used.
        """
        parts = urlsplit(self.address)
        if parts.scheme not in ("https", "http") or not parts.hostname:
            raise LineTrouble(f"{self.address} is no address: as https://desk.example.org.")
        if parts.scheme == "http" and parts.hostname not in LOOPBACK:
            raise LineTrouble("Only https:// keeps the token secret on its way: use it.")
        self._token()
        self._trusted()

    def send(self, path: str, data: bytes, query: Mapping[str, str], key: str) -> dict[str, Any]:
        """Send bytes; the answer.

        Raises
        ------
        LineTrouble
            If it has to wait.
        FileRefused
            If the desk refuses it for good.
        """
        headers = {"Content-Type": "application/octet-stream", "Idempotency-Key": key}
        return self._asked(path, query, data, headers)

    def read(self, path: str, query: Mapping[str, str] | None = None) -> dict[str, Any]:
        """Ask for something; raises as `send`."""
        return self._asked(path, query or {}, None, {})

    def _asked(
        self, path: str, query: Mapping[str, str], data: bytes | None, headers: dict[str, str]
    ) -> dict[str, Any]:
        address = f"{self.address.rstrip('/')}/api/v1/{path}"
        if query:
            address += f"?{urlencode(query)}"
        token = {"Authorization": f"Bearer {self._token()}"}
        request = Request(address, data=data, headers=headers | token)  # noqa: S310 (see check)
        opener = build_opener(_NoWayRound, HTTPSHandler(context=self._trusted()))
        try:
            with opener.open(request, timeout=TIMEOUT_S) as answer:
                return _object_in(answer.read())
        except HTTPError as refusal:
            with refusal:
                raise _what_it_means(refusal) from refusal
        except URLError as problem:
            raise LineTrouble(self._unreachable(problem.reason)) from problem
        except (OSError, ValueError) as problem:
            raise LineTrouble(self._unreachable(problem)) from problem

    def _token(self) -> str:
        """Read anew each time: a token that has expired is replaced without a restart."""
        try:
            token = self.token_file.read_text(encoding="ascii").strip()
        except (OSError, ValueError) as problem:
            raise LineTrouble(f"The token file {self.token_file} cannot be read.") from problem
        if not token or len(token.split()) > 1:
            raise LineTrouble(f"The token file {self.token_file} holds no token.")
        return token

    def _trusted(self) -> ssl.SSLContext:
        try:
            return ssl.create_default_context(cafile=self.ca)
        except (OSError, ssl.SSLError) as problem:
            raise LineTrouble(f"The file of certificates {self.ca} cannot be read.") from problem

    def _unreachable(self, reason: object) -> str:
        if isinstance(reason, ssl.SSLCertVerificationError):
            return (
                f"{self.address} shows a certificate that is not trusted here"
                f" ({reason.verify_message}). Name its authority with --ca FILE."
            )
        words = getattr(reason, "strerror", None) or str(reason) or type(reason).__name__
        return f"{self.address} cannot be reached ({words})."


def _object_in(data: bytes) -> dict[str, Any]:
    """The object that an answer holds; ValueError where it is another thing than the desk's."""
    answer = json.loads(data)
    if not isinstance(answer, dict):
        raise ValueError("the answer is not the desk's")
    return answer


def _what_it_means(refusal: HTTPError) -> Exception:
    """Trouble that passes, or a refusal for good, in the desk's own words."""
    try:
        sentence = str(_object_in(refusal.read(65_536))["detail"])
    except (OSError, ValueError, KeyError):
        sentence = ""
    status = refusal.code
    if 300 <= status < 400:
        return LineTrouble(f"The desk is elsewhere: {refusal.headers.get('Location', '')}.")
    if status in _FOR_NOW or not sentence:
        asked = refusal.headers.get("Retry-After", "")
        words = sentence or f"The desk answers {status} {_phrase(status)}."
        return LineTrouble(words, int(asked) if asked.isdigit() else 0)
    return FileRefused(sentence)


def _phrase(status: int) -> str:
    try:
        return HTTPStatus(status).phrase
    except ValueError:
        return ""
