"""One call to another program over HTTP. Whoever may name an address must not reach what only this
machine can reach: the address that was looked up is checked, and just that one is connected to. No
redirect is followed, and nothing of the answer is read but its status.
"""

from __future__ import annotations

import http.client
import ipaddress
import socket
import ssl
import threading
from collections.abc import Iterable
from dataclasses import dataclass
from urllib.parse import SplitResult, urlsplit

#: Seconds for one step of the line, and for the whole call.
STEP_S, WHOLE_S = 10.0, 20.0
#: The translation of IPv4 addresses into IPv6: behind it may be any.
_TRANSLATED = ipaddress.ip_network("64:ff9b::/96")
Address = ipaddress.IPv4Address | ipaddress.IPv6Address


@dataclass(frozen=True)
class CallAnswer:
    """What came of a call: the status, or None and words for why there was none."""

    status: int | None
    words: str

    @property
    def is_taken(self) -> bool:
        """Whether the receiver has it."""
        return self.status is not None and 200 <= self.status < 300


class _NotCalled(Exception):
    """The place may not be called, or is not known; the message says which."""


def call(
    address: str, body: str, headers: dict[str, str], *, private: Iterable[str] = ()
) -> CallAnswer:
    """Post a body once. `private`: networks that may be called although they are not public."""
    parts = urlsplit(address)
    try:
        connection = _connection(parts, list(private))
    except _NotCalled as refusal:
        return CallAnswer(None, str(refusal))
    end = threading.Timer(WHOLE_S, _hang_up, [connection])
    end.daemon = True
    end.start()
    try:
        path = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
        connection.request("POST", path, body.encode(), headers)
        status = connection.getresponse().status
    except TimeoutError:
        return CallAnswer(None, f"No answer within {STEP_S:.0f} seconds.")
    except ssl.SSLError as problem:
        return CallAnswer(None, f"No safe line: {problem.reason or 'TLS failed'}.")
    except OSError as problem:
        return CallAnswer(None, f"No line: {problem.strerror or type(problem).__name__}.")
    except http.client.HTTPException as problem:
        return CallAnswer(None, f"No answer in HTTP: {type(problem).__name__}.")
    finally:
        end.cancel()
        connection.close()
    return CallAnswer(status, _words_of(status))


def may_be_called(found: str, private: Iterable[str]) -> bool:
    """Whether an address that was looked up is public, or in one of the networks."""
    address = ipaddress.ip_address(found.partition("%")[0])
    if isinstance(address, ipaddress.IPv6Address):
        if address.ipv4_mapped is not None:
            address = address.ipv4_mapped
        elif address.sixtofour or address.teredo or address in _TRANSLATED:
            return False
    if any(_is_in(address, network) for network in private):
        return True
    return address.is_global and not address.is_multicast


def _is_in(address: Address, network: str) -> bool:
    try:
        return address in ipaddress.ip_network(network, strict=False)
    except (TypeError, ValueError):
        return False


def _connection(parts: SplitResult, private: list[str]) -> http.client.HTTPConnection:
    host = parts.hostname or ""
    port = parts.port or (443 if parts.scheme == "https" else 80)
    found = _checked(host, port, private)
    if parts.scheme == "https":
        return _SafeLine(host, port, found)
    return _PlainLine(host, port, found)


def _checked(host: str, port: int, private: list[str]) -> str:
    """The address of a host. Raises _NotCalled where any of them may not be called."""
    try:
        rows = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError):
        raise _NotCalled("The machine's name is not known.") from None
    found = [str(row[4][0]) for row in rows]
    if not found or not all(may_be_called(address, private) for address in found):
        raise _NotCalled("The address is in a network that is not public, so it was not called.")
    return found[0]


class _PlainLine(http.client.HTTPConnection):
    """A line to an address that was looked up and checked before."""

    def __init__(self, host: str, port: int, found: str) -> None:
        super().__init__(host, port, timeout=STEP_S)
        self._found = found

    def connect(self) -> None:
        """Called by the library."""
        self.sock = socket.create_connection((self._found, self.port), STEP_S)


class _SafeLine(_PlainLine):
    """The same with TLS, in which the host proves its name."""

    default_port = 443

    def connect(self) -> None:
        """Called by the library."""
        super().connect()
        context = ssl.create_default_context()
        self.sock = context.wrap_socket(self.sock, server_hostname=self.host)


def _hang_up(connection: http.client.HTTPConnection) -> None:
    """A receiver that answers a letter now and then must not hold a worker."""
    line = connection.sock
    if line is not None:
        try:
            line.shutdown(socket.SHUT_RDWR)
        except OSError:
            return


def _words_of(status: int) -> str:
    if 200 <= status < 300:
        return "Taken."
    if 300 <= status < 400:
        return "It sends elsewhere; calls follow no such hint."
    return "Refused."
