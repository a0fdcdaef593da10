"""What the desk's own server does with the head of a request, for any other WSGI server: who it
comes from when a proxy stands in front, and how much it may carry.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from http import HTTPStatus
from typing import Any, BinaryIO

from kitdesk.request_sizes import most_bytes

Environ = dict[str, Any]
Application = Callable[[Environ, Callable[..., Any]], Iterable[bytes]]
FORWARDED = ("HTTP_X_FORWARDED_FOR", "HTTP_X_FORWARDED_PROTO")
PIECE = 64 * 1024
READ_AWAY = 16 * 1024 * 1024
TOO_LARGE = b"This is more than the page takes at once. Send it in several parts.\n"


class BehindProxy:
    """A WSGI application that believes the headers of one proxy alone, and keeps nothing of a body
    that is too large.
    """

    def __init__(self, application: Application, proxy: str) -> None:
        self._application = application
        self._proxy = proxy

    def __call__(self, environ: Environ, start_response: Callable[..., Any]) -> Iterable[bytes]:
        self._name_visitor(environ)
        cookies = environ.get("HTTP_COOKIE", "")
        if _length(environ) > most_bytes(environ.get("PATH_INFO", ""), cookies):
            _read_away(environ.get("wsgi.input"))
            return _refuse(start_response)
        return self._application(environ, start_response)

    def _name_visitor(self, environ: Environ) -> None:
        """Put the visitor's address where the proxy's stands. Headers that came from elsewhere
        are dropped: anybody can write them.
        """
        if not self._proxy or environ.get("REMOTE_ADDR") != self._proxy:
            for header in FORWARDED:
                environ.pop(header, None)
            return
        visitor = environ.get("HTTP_X_FORWARDED_FOR", "").rpartition(",")[2].strip()
        if visitor:
            environ["REMOTE_ADDR"] = visitor


def _length(environ: Environ) -> int:
    """Bytes that the body is said to have; a body without a length is not read at all."""
    text = environ.get("CONTENT_LENGTH") or "0"
    return int(text) if text.isdecimal() else 0


def _read_away(body: BinaryIO | None) -> None:
    """Take what a proxy is still sending, within bounds: one that cannot send on takes the server
    for broken and passes no answer on.
    """
    left = READ_AWAY
    while body is not None and left > 0 and (piece := body.read(PIECE)):
        left -= len(piece)


def _refuse(start_response: Callable[..., Any]) -> Iterable[bytes]:
    status = HTTPStatus.REQUEST_ENTITY_TOO_LARGE
    start_response(
        f"{status.value} {status.phrase}",
        [("Content-Type", "text/plain; charset=utf-8"), ("Content-Length", str(len(TOO_LARGE)))],
    )
    return [TOO_LARGE]
