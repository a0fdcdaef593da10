"""How much a request may carry: told by a real server from its head, before a byte of the body."""

import socket
import threading
from collections.abc import Iterator

import pytest
import waitress
from django.core import signing
from django.urls import reverse
from waitress.server import BaseWSGIServer

from kitdesk import connections, request_sizes
from kitdesk.known_browsers import COOKIE, SALT

MIB = 1024 * 1024
PATIENCE = 120
pytestmark = pytest.mark.any_database


def _answer(environ, start_response):
    body = environ["wsgi.input"].read()
    start_response("200 OK", [("Content-Type", "text/plain")])
    return [str(len(body)).encode()]


@pytest.fixture
def port(monkeypatch) -> Iterator[int]:
    """Where a server with the desk's limits listens; its pages count the bytes they get."""
    monkeypatch.setattr(BaseWSGIServer, "channel_class", request_sizes.SizedChannel)
    server = waitress.create_server(
        _answer, host="127.0.0.1", port=0, threads=2, **connections.server_options()
    )
    ended = threading.Event()
    running = threading.Thread(target=_serve, args=(server, ended), daemon=True)
    running.start()
    yield server.effective_port
    ended.set()
    server.trigger.pull_trigger()
    running.join(PATIENCE)
    server.task_dispatcher.shutdown()
    server.asyncore.close_all(server._map)


def _serve(server: BaseWSGIServer, ended: threading.Event) -> None:
    while not ended.is_set():
        server.asyncore.loop(
            timeout=1, use_poll=server.adj.asyncore_use_poll, map=server._map, count=1
        )


def _head(port: int, path: str, length: int, cookie: str = "", body: bytes = b"") -> str:
    """What the server says to a request that announces so many bytes and sends `body`."""
    words = [
        f"POST {path} HTTP/1.1",
        "Host: desk",
        f"Content-Length: {length}",
        "Connection: close",
    ]
    if cookie:
        words.append(f"Cookie: sessionid=x; {COOKIE}={cookie}")
    with socket.create_connection(("127.0.0.1", port), timeout=PATIENCE) as line:
        line.sendall("\r\n".join([*words, "", ""]).encode() + body)
        if len(body) < length:
            line.shutdown(socket.SHUT_WR)
        return b"".join(iter(lambda: line.recv(4096), b"")).decode()


def _known() -> str:
    return signing.dumps([1, "browser"], salt=SALT)


@pytest.mark.parametrize("path", ["/account/login/", "/", "/bench/", "/bench/upload/?next=1"])
def test_a_stranger_cannot_send_much_anywhere(port, path):
    assert "413" in _head(port, path, 2 * MIB).splitlines()[0]
    assert "413" in _head(port, path, 2 * MIB, cookie="WzEsIngiXQ:1w3bQ2:forged").splitlines()[0]


def test_other_programs_send_captures_and_rosters_and_are_refused_in_json(port):
    most = request_sizes.most_bytes
    assert most("/api/v1/captures", "") == 40 * MIB
    assert most("/api/v1/runs/1/roster", "") == 4 * MIB
    assert most("/api/v1/kits", f"{COOKIE}={_known()}") == MIB
    head, _, body = _head(port, "/api/v1/kits", 2 * MIB).partition("\r\n\r\n")
    assert "413" in head.splitlines()[0] and "application/problem+json" in head
    assert '"status": 413' in body


def test_a_small_form_of_a_stranger_comes_through(port):
    answer = _head(port, "/account/login/", 5, body=b"login")
    assert answer.splitlines()[0].endswith("200 OK")
    assert answer.endswith("5")


def test_chunks_without_a_length_are_counted_as_they_come(port):
    head = b"POST /account/login/ HTTP/1.1\r\nHost: desk\r\nTransfer-Encoding: chunked\r\n\r\n"
    chunk = b"10000\r\n" + bytes(0x10000) + b"\r\n"
    with socket.create_connection(("127.0.0.1", port), timeout=PATIENCE) as line:
        line.sendall(head)
        answer = b""
        try:
            for _ in range(40):
                line.sendall(chunk)
            answer = line.recv(4096)
        except (BrokenPipeError, ConnectionResetError):
            # Hung up on while still sending: refused as well.
            return
    assert b"413" in answer.splitlines()[0]


def test_limits_by_page_and_by_who_asks():
    most = request_sizes.most_bytes
    known = f"sessionid=x; {COOKIE}={_known()}"
    for page in (reverse("readiness:bench_upload"), reverse("readiness:round_drop", args=["K1"])):
        assert most(page, known) == 1024 * MIB
    assert most("/kits/", known) == 200 * MIB
    assert most("/my-kit/token/help/", "") == 40 * MIB
    assert most("/account/login/", "") == MIB
    assert most("/bench/upload/", f"{COOKIE}=broken; ;;=") == MIB


@pytest.mark.parametrize(("silent", "slow"), [(130, 20), (1030, 10)])
def test_silent_and_slow_connections_keep_nobody_out(port, silent, slow):
    held = []
    try:
        for number in range(silent + slow):
            line = socket.create_connection(("127.0.0.1", port), timeout=PATIENCE)
            held.append(line)
            if number >= silent:
                line.sendall(b"POST /account/login/ HTTP/1.1\r\nHost: d")
        assert _head(port, "/health", 0).splitlines()[0].endswith("200 OK")
        for line in held[silent:]:
            line.sendall(b"e")
        assert _head(port, "/health", 0).splitlines()[0].endswith("200 OK")
    finally:
        for line in held:
            line.close()
