"""gunicorn's own log tells nothing of what a visitor sent."""

import os
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.kitdesk.test_two_machines import free_port

pytestmark = pytest.mark.any_database
ROOT = Path(__file__).resolve().parents[2]
PRIVATE = ("Mia", "mia.lund", "s3cret-t0ken", "127.0.0.1")
#: Each is refused by the server itself, before the desk hears of it.
BROKEN = (
    b"GET /my-kit/s3cret-t0ken/Mia HTTP/9.9\r\nHost: localhost\r\n\r\n",
    b"GET/students/?q=Mia HTTP/1.1 mia.lund@example.org\r\n\r\n",
    b"GET / HTTP/1.1\r\nHost: localhost\r\nMia Lund: mia.lund@example.org\r\n\r\n",
    b"GET / HTTP/1.1\r\nHost: localhost\r\nX: a\r\n mia.lund@example.org\r\n\r\n",
)


def test_what_the_server_refuses_is_told_without_what_was_sent(tmp_path):
    port = free_port()
    words = [sys.executable, "-m", "gunicorn", "kitdesk.wsgi", "--bind", f"127.0.0.1:{port}"]
    around = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    around |= {"KITDESK_VAR": str(tmp_path), "SECRET_KEY": "s" * 60}
    with (tmp_path / "log").open("w") as log:
        process = subprocess.Popen(words, cwd=ROOT, env=around, stderr=log, stdout=log)
        try:
            answers = [_answer(port, sent) for sent in BROKEN]
        finally:
            process.terminate()
            process.wait(30)
    assert all(answer.startswith(b"HTTP/1.1 400") for answer in answers)
    told = (tmp_path / "log").read_text(encoding="utf-8")
    refusals = [line for line in told.splitlines() if "Invalid request" in line]
    assert len(refusals) == len(BROKEN), told
    assert not any(word in line for word in PRIVATE for line in refusals)
    assert "Mia" not in told and "t0ken" not in told


def _answer(port: int, sent: bytes) -> bytes:
    for _ in range(3000):
        try:
            with socket.create_connection(("127.0.0.1", port), timeout=60) as line:
                line.sendall(sent)
                return line.recv(1000)
        except ConnectionRefusedError:
            time.sleep(0.02)
    raise AssertionError("The server did not begin.")
