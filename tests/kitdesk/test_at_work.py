"""A desk that serves is not replaced beneath itself: tried with a real server."""

from __future__ import annotations

import contextlib
import os
import socket
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.kitdesk.migrated import copy_template
from tests.kitdesk.test_two_machines import free_port

pytestmark = pytest.mark.any_database
ROOT = Path(__file__).resolve().parents[2]
BACKED_UP = """
from django.core.management import call_command
from pathlib import Path
import sys
call_command("migrate", verbosity=0)
call_command("backup", Path(sys.argv[1]))
"""
PUT_BACK = """
from django.core.management import call_command
from django.core.management.base import CommandError
from pathlib import Path
import sys
for command in sys.argv[2:]:
    try:
        call_command(command, Path(sys.argv[1]))
    except CommandError as problem:
        print(problem)
"""


def _environment(folder: Path) -> dict[str, str]:
    kept = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    return kept | {
        "KITDESK_VAR": str(folder),
        "SECRET_KEY": "s" * 60,
        "DJANGO_SETTINGS_MODULE": "kitdesk.settings",
    }


def _run(folder: Path, script: str, *words: object) -> str:
    setup = "import django; django.setup()"
    done = subprocess.run(
        [sys.executable, "-c", setup + script, *map(str, words)],
        cwd=ROOT,
        env=_environment(folder),
        capture_output=True,
        text=True,
        check=False,
    )
    return done.stdout + done.stderr


def test_nothing_is_put_back_while_a_server_answers(tmp_path):
    old, new, backup = tmp_path / "old", tmp_path / "new", tmp_path / "desk.zip"
    copy_template(old)
    said = _run(old, BACKED_UP, backup)
    assert backup.exists(), said
    port = free_port()
    words = [sys.executable, "-m", "gunicorn", "kitdesk.wsgi", "--bind", f"127.0.0.1:{port}"]
    server = subprocess.Popen(words, cwd=ROOT, env=_environment(new), stderr=subprocess.DEVNULL)
    try:
        _wait_for(port)
        told = _run(new, PUT_BACK, backup, "restore", "import")
        assert told.count("This desk is at work. Stop all of it first") == 2
        assert _tables(new) == []
    finally:
        server.terminate()
        server.wait(30)
    # Killed or ended, its mark goes with it.
    assert "Restored the database" in _run(new, PUT_BACK, backup, "restore")


def _tables(folder: Path) -> list[tuple[str]]:
    """Of its database, where it has one."""
    file = folder / "kitdesk.sqlite3"
    if not file.exists():
        return []
    with contextlib.closing(sqlite3.connect(file)) as database:
        return database.execute("SELECT name FROM sqlite_master").fetchall()


def _wait_for(port: int) -> None:
    """A worker that answers has loaded the desk."""
    for _ in range(3000):
        try:
            with socket.create_connection(("127.0.0.1", port), timeout=60) as line:
                line.sendall(b"GET / HTTP/1.1\r\nBroken\r\n\r\n")
                if line.recv(100):
                    return
        except ConnectionError:
            time.sleep(0.02)
    raise AssertionError("The server did not begin.")
