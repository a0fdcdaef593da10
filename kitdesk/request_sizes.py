"""How much a request may carry, decided by its head: before sign-in next to nothing, and only the
pages that take captures as much as a day at the bench brings.
"""

from __future__ import annotations

import copy
from http.cookies import CookieError, SimpleCookie

from waitress.adjustments import Adjustments
from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser

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

STUDENT_PAGES = "/my-kit/"
#: Ends of the addresses that take many captures.
CAPTURE_PAGES = ("/bench/upload/", "/round/files/")


def most_bytes(path: str, cookies: str) -> int:
    """The largest body taken at this address from a browser that sends these cookies."""
    if not _is_known(cookies):
        return STUDENT if path.startswith(STUDENT_PAGES) else STRANGER
    return LARGEST if path.endswith(CAPTURE_PAGES) else USUAL


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


class SizedRequest(HTTPRequestParser):
    """A request whose largest body follows from its head."""

    adj: Adjustments

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
