"""How much a request may carry, decided by its head: before sign-in next to nothing, and only the
pages that take captures as much as a day at the bench brings.
"""

from __future__ import annotations

import copy
from http.cookies import CookieError, SimpleCookie

from waitress.adjustments import Adjustments
from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser
from waitress.utilities import Error

from kitdesk.door.problems import MEDIA_TYPE, problem_body
from kitdesk.known_browsers import COOKIE, browser_of

MIB = 1024 * 1024
#: The sign-in form, and any other of nobody known.
STRANGER = 1 * MIB
#: A page that a student without an account reaches by a link: one capture.
STUDENT = 40 * MIB
#: A form with photos or a table.
USUAL = 200 * MIB
#: The captures of many kits at once.
LARGEST = 1024 * MIB

#: Where other programs come in: nobody of them is known by the head, and only two operations take
#: more than a question.
PROGRAMS = "/api/v1/"
#: A roster.
PROGRAM_TABLE = 4 * MIB

STUDENT_PAGES = "/my-kit/"
#: Ends of the addresses that take many captures.
CAPTURE_PAGES = ("/bench/upload/", "/round/files/")


def most_bytes(path: str, cookies: str) -> int:
    """The largest body taken at this address from a browser that sends these cookies."""
    if path.startswith(PROGRAMS):
        return _most_of_programs(path.rstrip("/"))
    if not _is_known(cookies):
        return STUDENT if path.startswith(STUDENT_PAGES) else STRANGER
    return LARGEST if path.endswith(CAPTURE_PAGES) else USUAL


def _most_of_programs(path: str) -> int:
    if path.endswith("/captures"):
        return STUDENT
    return PROGRAM_TABLE if path.endswith("/roster") else STRANGER


def _is_known(cookies: str) -> bool:
    """Whether somebody of this desk has signed in with the browser: told by a signature alone, for
    the head of a request is read where nothing may wait for the database.
    """
    if COOKIE not in cookies:
        return False
    try:
        morsel = SimpleCookie(cookies).get(COOKIE)
    except CookieError:
        return False
    return morsel is not None and bool(browser_of(morsel.value))


class ProgramsError:
    """What the server refuses by itself, as other programs read it."""

    def __init__(self, error: Error) -> None:
        self._error = error

    def to_response(self, _ident: str | None = None) -> tuple[str, list[tuple[str, str]], bytes]:
        """Status, headers and body."""
        body = problem_body(self._error.code)
        return (
            f"{self._error.code} {self._error.reason}",
            [("Content-Type", MEDIA_TYPE), ("Cache-Control", "no-store")],
            body.encode(),
        )


class SizedRequest(HTTPRequestParser):
    """A request whose largest body follows from its head."""

    adj: Adjustments
    error: Error | ProgramsError | None

    def received(self, data: bytes) -> int:
        """Take some of the request; how many bytes of it that were."""
        taken: int = super().received(data)
        if isinstance(self.error, Error) and self.path.startswith(PROGRAMS):
            self.error = ProgramsError(self.error)
        return taken

    def parse_header(self, header_plus: bytes) -> None:
        """Read the head, then set the limit that the rest of the request is held to."""
        super().parse_header(header_plus)
        limits = copy.copy(self.adj)
        # The library refuses what reaches its limit, we what exceeds ours.
        limits.max_request_body_size = most_bytes(self.path, self.headers.get("COOKIE", "")) + 1
        self.adj = limits


class SizedChannel(HTTPChannel):
    """A connection whose requests are of that kind."""

    parser_class = SizedRequest
