"""Two machines that share database, store and keys alone: one serves, the other scores."""

import contextlib
import json
import os
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from kitdesk import throwaway_postgres
from tests.conftest import lacking
from tests.object_store import BUCKET
from tests.readiness.captures import capture_bytes

pytestmark = [pytest.mark.night, pytest.mark.any_database]
ROOT = Path(__file__).resolve().parents[2]
MANAGE = [sys.executable, "manage.py"]
#: An owner who is signed in, a kit, and a program with a token.
BEGIN = """
import django; django.setup()
import json
from django.conf import settings
from django.contrib.auth.models import User
from django.test import Client
from kitdesk.owner import create_owner
from rentals.access_keys import SCOPES
from rentals.actions.access_tokens import make_access_token
from tests.factories import complete_kit
create_owner("ada", "quiet-bow-arm-42", name="Ada Lind", practice="Quiet Hands")
client = Client()
client.force_login(User.objects.get(username="ada"), settings.AUTHENTICATION_BACKENDS[0])
facts = {"kit": complete_kit(cleared=False).code, "session": client.cookies["sessionid"].value}
print(json.dumps(facts | {"token": make_access_token("Bench computer", SCOPES)}))
"""


@pytest.fixture(scope="module")
def database() -> Iterator[str]:
    programs = throwaway_postgres.programs()
    if programs is None:
        lacking("postgres", "needs PostgreSQL's own programs: `sudo apt-get install postgresql`")
    with throwaway_postgres.running(programs) as address:
        yield address.rsplit("/", 1)[0] + "/postgres"


@contextlib.contextmanager
def running(words: list[str], machine: dict[str, str]) -> Iterator[None]:
    process = subprocess.Popen(words, cwd=ROOT, env=machine)
    try:
        yield
    finally:
        process.terminate()
        process.wait(30)


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def patiently(ask: Callable[[], object], within_s: float = 120.0) -> object:
    """What `ask` gives once it gives something."""
    until = time.monotonic() + within_s
    while True:
        with contextlib.suppress(OSError):
            if answer := ask():
                return answer
        if time.monotonic() > until:
            raise TimeoutError("nothing came of it")
        time.sleep(0.2)


def test_one_machine_takes_an_upload_the_other_scores_it(store, database, tmp_path):
    port = free_port()
    site = f"http://127.0.0.1:{port}"
    common = {
        **{name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ},
        **store.keys,
        "KITDESK_FILES": store.address("two-machines"),
        "DATABASE_URL": database,
        "SECRET_KEY": "of both machines " * 4,
        "KITDESK_LOG_KEY": "of both machines",
        "KITDESK_BACKUPS": "off",
        "DJANGO_SETTINGS_MODULE": "kitdesk.settings",
        "SITE_URL": site,
    }
    first, second = (common | {"KITDESK_VAR": str(tmp_path / name)} for name in ("one", "two"))
    subprocess.run([*MANAGE, "prepare"], cwd=ROOT, env=first, check=True)
    begun = [sys.executable, "-c", BEGIN]
    done = subprocess.run(begun, cwd=ROOT, env=first, check=True, capture_output=True, text=True)
    facts = json.loads(done.stdout.splitlines()[-1])

    def call(path: str, data: bytes | None = None, **headers: str) -> bytes:
        request = urllib.request.Request(site + path, data, headers)
        with urllib.request.urlopen(request, timeout=30) as answer:
            return answer.read()

    token = {"Authorization": f"Bearer {facts['token']}"}
    serve = [sys.executable, "-m", "gunicorn", "kitdesk.wsgi", "--threads", "2"]
    serve += ["--bind", f"127.0.0.1:{port}"]
    work = [*MANAGE, "worker", "--clock"]
    with running(serve, first), running(work, second):
        patiently(lambda: call("/health"))
        data = capture_bytes("still", kit=facts["kit"])
        binary = token | {"Content-Type": "application/octet-stream"}
        sent = json.loads(call("/api/v1/captures?name=still.csv", data, **binary))
        place = f"/api/v1/captures/{sent['id']}"
        state = patiently(
            lambda: (seen := json.loads(call(place, **token)))["state"] == "scored" and seen
        )
        page = call(f"/bench/captures/{sent['id']}/", Cookie=f"sessionid={facts['session']}")
    assert state
    assert page.count(b"<svg") >= 2 and b"Trace" in page
    held = store.client().list_objects_v2(Bucket=BUCKET, Prefix="two-machines/")["Contents"]
    assert [entry["Size"] for entry in held] == [len(data)]
    assert not [path for path in tmp_path.glob("*/media/**/*") if path.is_file()]
    verified = subprocess.run([*MANAGE, "verify"], cwd=ROOT, env=second, capture_output=True)
    assert verified.returncode == 0, verified.stdout
