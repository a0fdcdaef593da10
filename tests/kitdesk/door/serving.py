"""The desk on a port of this machine, for tests: stopped and started again on the same one."""

from __future__ import annotations

import socketserver
import threading
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer

from django.db import connections

from kitdesk.wsgi import application


class _Quiet(WSGIRequestHandler):
    def log_message(self, *_: object) -> None:
        """Nothing is said to standard error."""


class _Server(socketserver.ThreadingMixIn, WSGIServer):
    daemon_threads = True
    block_on_close = True

    def process_request_thread(self, request, client_address) -> None:
        super().process_request_thread(request, client_address)
        connections.close_all()


class ServedDesk:
    """A desk that listens while it is started."""

    def __init__(self) -> None:
        self.port = 0
        self._server: _Server | None = None

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        _Server.allow_reuse_address = True
        self._server = _Server(("127.0.0.1", self.port), _Quiet)
        self._server.set_app(application)
        self.port = self._server.server_port
        self._thread = threading.Thread(target=self._server.serve_forever, args=(0.05,))
        self._thread.start()

    def stop(self) -> None:
        if self._server is not None:
            self._server.shutdown()
            self._server.server_close()
            self._thread.join()
            self._server = None
