"""The two commands that serve, as real processes on real ports."""

import contextlib
import http.client
import json
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from email.message import Message
from pathlib import Path

import pytest

from kitdesk import desk_server
from kitdesk.management.commands.start import port_number
from kitdesk.workers import usual_number
from tests.kitdesk.migrated import copy_template
from tests.smtp import free_port

ROOT = Path(__file__).resolve().parent.parent.parent
CODE = "import sys; from kitdesk.dispatch import run; sys.exit(run(['manage.py', *sys.argv[1:]]))"
pytestmark = pytest.mark.skipif(os.name == "nt", reason="stop signals are POSIX")


KEPT = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}


@pytest.fixture(scope="module")
def prepared(tmp_path_factory) -> Path:
    """The data folder of a desk whose database and pages are made: a first start takes longest."""
    folder = tmp_path_factory.mktemp("prepared") / "desk"
    copy_template(folder)
    done = subprocess.run(
        [sys.executable, "-c", CODE, "prepare"],
        cwd=ROOT,
        env=KEPT | {"KITDESK_VAR": str(folder)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return folder


@pytest.fixture
def environment(prepared: Path, tmp_path: Path) -> dict[str, str]:
    folder = tmp_path / "desk"
    shutil.copytree(prepared, folder)
    return KEPT | {"KITDESK_VAR": str(folder), "PYTHONUNBUFFERED": "1", "KITDESK_SERVERS": "1"}


@contextlib.contextmanager
def started(
    environment: dict[str, str], *words: str
) -> Iterator[tuple[subprocess.Popen[str], int]]:
    port = free_port()
    desk = subprocess.Popen(
        [sys.executable, "-c", CODE, "start", "--port", str(port), *words],
        cwd=ROOT,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    try:
        _wait_until_served(desk, port)
        yield desk, port
    finally:
        if desk.poll() is None:
            desk.kill()
        desk.communicate()


def _wait_until_served(desk: subprocess.Popen[str], port: int) -> None:
    for _ in range(6000):
        if desk.poll() is not None:
            pytest.fail(f"ended before it served: {desk.communicate()[0]}")
        with contextlib.suppress(OSError):
            _health(port)
            return
        time.sleep(0.1)
    pytest.fail("did not serve within ten minutes")


def _health(port: int) -> dict[str, object]:
    with urllib.request.urlopen(f"http://127.0.0.1:{port}/health", timeout=60) as answer:
        return json.load(answer)


def _children(process: int) -> list[int]:
    listed = subprocess.run(
        ["ps", "-o", "pid=", "--ppid", str(process)], capture_output=True, text=True, check=False
    )
    return [int(word) for word in listed.stdout.split()]


def _serves(process: int) -> bool:
    """Whether it is a server; the other children are workers."""
    return b"--sockets" in Path(f"/proc/{process}/cmdline").read_bytes().split(b"\0")


def _wait_for_children(process: int, count: int) -> list[int]:
    for _ in range(6000):
        if len(children := [child for child in _children(process) if _alive(child)]) == count:
            return children
        time.sleep(0.1)
    pytest.fail(f"{children} are not {count}")


def _alive(process: int) -> bool:
    state = Path(f"/proc/{process}/stat")
    return state.exists() and state.read_text().rpartition(")")[2].split()[0] != "Z"


def _wait_until_gone(processes: list[int]) -> None:
    for _ in range(200):
        if not any(map(_alive, processes)):
            return
        time.sleep(0.1)
    pytest.fail(f"orphans: {[process for process in processes if _alive(process)]}")


@pytest.mark.slow
@pytest.mark.parametrize(
    "number", [signal.SIGTERM, pytest.param(signal.SIGINT, marks=pytest.mark.night)]
)
def test_serves_replaces_a_dead_worker_and_stops_without_orphans(number, environment):
    two = environment | {"KITDESK_SERVERS": "2"}
    with started(two, "--workers", "2") as (desk, port):
        assert _health(port)["database"] == "ok"
        children = _children(desk.pid)
        assert len(children) == 3
        dead = next(child for child in children if not _serves(child))
        os.kill(dead, signal.SIGKILL)
        _wait_until_gone([dead])
        children = _wait_for_children(desk.pid, 3)
        assert dead not in children and sum(map(_serves, children)) == 1
        desk.send_signal(number)
        said, _ = desk.communicate(timeout=600)
        assert desk.returncode == 0, said
        assert "Open it to make the owner's account." in said
        assert "Traceback" not in said
        _wait_until_gone(children)


@pytest.mark.slow
def test_a_second_server_answers_too_and_all_end_even_when_the_first_is_killed(environment):
    two = environment | {"KITDESK_SERVERS": "2"}
    with started(two, "--workers", "1") as (desk, port):
        children = _children(desk.pid)
        assert len(children) == 2
        # What the first one cannot answer now, the second one does.
        desk.send_signal(signal.SIGSTOP)
        assert _health(port)["database"] == "ok"
        desk.kill()
        _wait_until_gone(children)


def _get(port: int, path: str, **headers: str) -> tuple[int, Message, str]:
    """Status, headers and text of one answer; redirects are not followed."""
    with contextlib.closing(http.client.HTTPConnection("127.0.0.1", port, timeout=600)) as line:
        line.request("GET", path, headers=headers)
        answer = line.getresponse()
        return answer.status, answer.headers, answer.read().decode("utf-8", "replace")


@pytest.mark.slow
def test_pages_and_hashed_static_files_come_through_a_proxy_that_ends_tls(environment):
    behind = {"SITE_URL": "https://desk.example.org", "TRUSTED_PROXY": "127.0.0.1"}
    with started(environment | behind, "--workers", "0") as (_, port):
        status, headers, _ = _get(port, "/first-run/", Host="desk.example.org")
        assert (status, headers["Location"]) == (301, "https://desk.example.org/first-run/")
        through = {
            "Host": "desk.example.org",
            "X-Forwarded-Proto": "https",
            "X-Forwarded-For": "203.0.113.9",
        }
        status, headers, page = _get(port, "/first-run/", **through)
        assert status == 200 and "Set up this desk" in page
        assert headers["Strict-Transport-Security"].startswith("max-age=31536000")
        assert "secure" in headers["Set-Cookie"].lower()
        names = re.findall(r'(?:href|src)="(/static/[^"]+)"', page)
        assert len(names) >= 4
        for name in names:
            status, headers, _ = _get(port, name, **through)
            assert status == 200 and "immutable" in headers["Cache-Control"], name


@pytest.mark.slow
def test_a_taken_port_is_said_with_the_way_out(environment):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        second = subprocess.run(
            [sys.executable, "-c", CODE, "start", "--port", str(port)],
            cwd=ROOT,
            env=environment,
            capture_output=True,
            text=True,
            check=False,
            timeout=600,
        )
    assert second.returncode == 1
    assert f"Port {port} on 127.0.0.1 is taken" in second.stderr
    assert f"--port {port + 1}" in second.stderr
    assert "Traceback" not in second.stderr


@pytest.mark.parametrize("text", ["0", "65536", "-1", "http", "8000.5", "", "²"])
def test_what_is_no_port_is_refused_in_words(text):
    from argparse import ArgumentTypeError

    with pytest.raises(ArgumentTypeError, match="whole number from 1 to 65535"):
        port_number(text)
    assert port_number("8000") == 8000


def test_a_privileged_or_foreign_address_is_explained():
    with pytest.raises(desk_server.PortTaken, match=r"cannot listen on 192\.0\.2\.7"):
        desk_server.check_port("192.0.2.7", 8000, "start")


def test_the_address_follows_the_port_unless_it_is_set(settings, monkeypatch):
    monkeypatch.setattr(os, "environ", {})
    settings.ALLOWED_HOSTS = ["localhost"]
    assert desk_server.open_to("127.0.0.1", 8123) == "http://127.0.0.1:8123"
    assert os.environ["SITE_URL"] == "http://127.0.0.1:8123"
    assert settings.ALLOWED_HOSTS == ["localhost", "127.0.0.1"]


def test_an_open_desk_answers_to_this_machines_own_names(settings, monkeypatch):
    monkeypatch.setattr(os, "environ", {"SITE_URL": "https://desk.example.org"})
    monkeypatch.setattr(
        desk_server, "own_addresses", lambda: ["192.0.2.20", "bench", "bench.local"]
    )
    settings.SITE_URL, settings.ALLOWED_HOSTS = "https://desk.example.org", ["localhost"]
    assert desk_server.open_to("0.0.0.0", 8000) == "https://desk.example.org"
    assert settings.ALLOWED_HOSTS == ["localhost", "192.0.2.20", "bench", "bench.local"]


def test_there_is_a_worker_for_each_core_but_four_at_most(monkeypatch):
    for cores, workers in ((None, 1), (1, 1), (2, 2), (4, 4), (64, 4)):
        monkeypatch.setattr(os, "cpu_count", lambda cores=cores: cores)
        assert usual_number() == workers


def test_there_is_a_server_for_each_core_but_two_at_most(monkeypatch):
    for cores, servers in ((None, 1), (1, 1), (2, 2), (64, 2)):
        monkeypatch.setattr(os, "cpu_count", lambda cores=cores: cores)
        assert desk_server.usual_servers() == servers
