"""The desk's own server: waitress and its background workers as one thing that starts and stops
together.
"""

import contextlib
import errno
import os
import signal
import socket
import sys
from collections.abc import Callable
from types import FrameType

import waitress
from django.conf import settings
from django.core.wsgi import get_wsgi_application
from waitress.server import BaseWSGIServer

from kitdesk.at_work import say_at_work
from kitdesk.connections import server_options
from kitdesk.request_sizes import LARGEST, SizedChannel
from kitdesk.warming import start_warming
from kitdesk.workers import Child, Children, worker_children

THREADS = 8
BACKLOG = 1024
EVERY_ADDRESS = ("0.0.0.0", "::")  # noqa: S104  (compared with, not bound to)


class PortTaken(Exception):
    """The address cannot be listened on; the message says why and what to do."""


def check_port(host: str, port: int, command: str) -> None:
    """Raise PortTaken, with the way out, when ``host:port`` cannot be listened on."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with contextlib.closing(socket.socket(family, socket.SOCK_STREAM)) as probe:
        if os.name != "nt":
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as problem:
            raise PortTaken(_port_words(problem, host, port, command)) from problem


def _port_words(problem: OSError, host: str, port: int, command: str) -> str:
    if problem.errno == errno.EADDRINUSE:
        return (
            f"Port {port} on {host} is taken by another program (perhaps Kitdesk is running"
            f" already). Stop that one, or choose another port: python3 manage.py {command} --port"
            f" {port + 1}"
        )
    if problem.errno == errno.EACCES:
        return (
            f"This account may not listen on port {port}; choose one above 1023, for example --port"
            " 8000."
        )
    return f"Kitdesk cannot listen on {host} port {port}: {problem.strerror or problem}."


def own_addresses() -> list[str]:
    """Names and addresses under which other machines on the local network may know this one."""
    addresses = [socket.gethostname(), f"{socket.gethostname()}.local"]
    # Connecting a datagram socket sends nothing; it only asks the system which address it would
    # send from.
    with (
        contextlib.suppress(OSError),
        contextlib.closing(socket.socket(socket.AF_INET, socket.SOCK_DGRAM)) as probe,
    ):
        probe.connect(("192.0.2.1", 9))
        addresses.insert(0, probe.getsockname()[0])
    return addresses


def open_to(host: str, port: int) -> str:
    """Fit SITE_URL and ALLOWED_HOSTS to the address that is served, unless the environment sets
    them.

    Returns the address to open in a browser. The workers get the same values through the
    environment.
    """
    names = [host]
    if host in EVERY_ADDRESS:
        names = own_addresses()
    if not os.environ.get("ALLOWED_HOSTS"):
        settings.ALLOWED_HOSTS = [*dict.fromkeys([*settings.ALLOWED_HOSTS, *names])]
        os.environ["ALLOWED_HOSTS"] = ",".join(settings.ALLOWED_HOSTS)
    if not os.environ.get("SITE_URL"):
        name = f"[{names[0]}]" if ":" in names[0] else names[0]
        settings.SITE_URL = os.environ["SITE_URL"] = f"http://{name}:{port}"
    return settings.SITE_URL


def usual_servers() -> int:
    """One server process per core, two at most: one keeps a single core busy, and each takes
    130 MB. Elsewhere than on POSIX sockets are not handed down.
    """
    return min(os.cpu_count() or 1, 2) if os.name == "posix" else 1


def serve(host: str, port: int, *, workers: int, say: Callable[[str], None]) -> None:
    """Serve until SIGINT or SIGTERM, then stop the workers and return. Raises PortTaken."""
    try:
        sockets = _listen(host, port)
    except OSError as problem:
        raise PortTaken(_port_words(problem, host, port, "start")) from problem
    files = tuple(held.fileno() for held in sockets)
    words = ("serve", "--sockets", ",".join(map(str, files)))
    servers = settings.KITDESK_SERVERS or usual_servers()
    children = worker_children(workers)
    children += [Child(f"Server {number}", words, files) for number in range(2, servers + 1)]
    with stoppable(), Children(children, say):
        serve_on(sockets, say)


def serve_on(sockets: list[socket.socket], say: Callable[[str], None]) -> None:
    """Answer what comes to these sockets, which other processes may share, until stopped."""
    say_at_work()
    options: dict[str, object] = dict(server_options())
    if settings.TRUSTED_PROXY:
        options |= {
            "trusted_proxy": settings.TRUSTED_PROXY,
            "trusted_proxy_count": 1,
            "trusted_proxy_headers": "x-forwarded-for x-forwarded-proto",
            "clear_untrusted_proxy_headers": True,
        }
    BaseWSGIServer.channel_class = SizedChannel
    server = waitress.create_server(
        get_wsgi_application(),
        sockets=sockets,
        threads=THREADS,
        ident="Kitdesk",
        max_request_body_size=LARGEST,
        **options,
    )
    start_warming()
    say("Serving. Stop with Ctrl+C.")
    with contextlib.suppress(KeyboardInterrupt, SystemExit):
        server.run()
    say("Stopping ...")
    server.close()


def _listen(host: str, port: int) -> list[socket.socket]:
    """Sockets for every address that the host's name stands for. Raises OSError."""
    found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE)
    return [
        socket.create_server(place[:2], family=family, backlog=BACKLOG)
        for family, place in dict.fromkeys((family, place) for family, *_, place in found)
    ]


@contextlib.contextmanager
def stoppable():
    """A stop signal ends the server's loop the way Ctrl+C does; a second one while stopping changes
    nothing.
    """

    def stop(number: int, frame: FrameType | None) -> None:
        for name in ("SIGINT", "SIGTERM"):
            signal.signal(getattr(signal, name), signal.SIG_IGN)
        sys.exit(0)

    before = {name: signal.signal(getattr(signal, name), stop) for name in ("SIGINT", "SIGTERM")}
    try:
        yield
    finally:
        for name, handler in before.items():
            signal.signal(getattr(signal, name), handler)
