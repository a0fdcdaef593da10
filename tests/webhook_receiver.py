"""A real receiver of webhooks on loopback, which answers as it is told to."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer


@dataclass
class Receiver:
    """What came, and what is answered: each of `statuses` once, then 204. ``0`` hangs up, ``-1``
    does not answer until the end.
    """

    address: str = ""
    statuses: list[int] = field(default_factory=list)
    paths: list[str] = field(default_factory=list)
    heads: list[dict[str, str]] = field(default_factory=list)
    bodies: list[str] = field(default_factory=list)
    ended: threading.Event = field(default_factory=threading.Event)


@contextlib.contextmanager
def running_receiver() -> Iterator[Receiver]:
    """A receiver while the block lasts."""
    receiver = Receiver()

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            length = int(self.headers["Content-Length"])
            receiver.bodies.append(self.rfile.read(length).decode())
            receiver.paths.append(self.path)
            receiver.heads.append({name.lower(): value for name, value in self.headers.items()})
            status = receiver.statuses.pop(0) if receiver.statuses else 204
            if status == -1:
                receiver.ended.wait(20)
            if status <= 0:
                self.close_connection = True
                return
            self.send_response(status)
            if 300 <= status < 400:
                self.send_header("Location", f"{receiver.address}/elsewhere")
            self.send_header("Content-Length", "0")
            self.end_headers()

        def log_message(self, *words: object) -> None:
            """Keep still."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    server.daemon_threads = True
    receiver.address = f"http://127.0.0.1:{server.server_port}"
    thread = threading.Thread(target=server.serve_forever, args=[0.01], daemon=True)
    thread.start()
    try:
        yield receiver
    finally:
        receiver.ended.set()
        server.shutdown()
        server.server_close()
        thread.join()
