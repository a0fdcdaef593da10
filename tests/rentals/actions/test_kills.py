"""Killed with -9 amid an act: what was acknowledged stays, and nothing is done twice."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
import uuid
from pathlib import Path

import pytest

from tests.kitdesk.migrated import copy_template
from tests.webhook_receiver import running_receiver

pytestmark = [pytest.mark.night, pytest.mark.any_database]
ROOT = Path(__file__).resolve().parents[3]
BEGIN = "import django, sys; django.setup()\n"
ACTS = """
from rentals.actions.once import once
from rentals.actions.restock import restock
from rentals.models import StockItem
item, _ = StockItem.objects.get_or_create(name="Box", kind="box")
for key in sys.stdin.read().split():
    once(key, "restock", lambda: restock(item, 1).name)
    print(key, flush=True)
"""
CALLS = """
from django.utils import timezone
from rentals.actions.tell_webhooks import tell
from rentals.actions.webhooks import make_webhook
from rentals.models import Webhook
if not Webhook.objects.exists():
    make_webhook(sys.stdin.readline().strip(), ["kit.lost"])
    tell("kit.lost", {"kit": "K0001X"}, at=timezone.now())
"""
MAKE_CALLS = """
from datetime import timedelta
from django.utils import timezone
from rentals.actions.send_webhooks import LEASE, make_due_calls
print(make_due_calls(timezone.now() + LEASE.duration * int(sys.stdin.readline())), flush=True)
"""
CALL_STANDS = """
from rentals.models import WebhookCall
print(*WebhookCall.objects.values_list("state", "attempts")[0])
"""
STANDS = """
from rentals.models import Event, StockItem
from rentals.verify import verify
print(StockItem.objects.get().on_hand, Event.objects.filter(verb="stock").count(), verify())
"""


def _process(folder: Path, script: str) -> subprocess.Popen[str]:
    kept = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    around = {"KITDESK_VAR": str(folder), "DJANGO_SETTINGS_MODULE": "kitdesk.settings"}
    around["KITDESK_HOOKS_PRIVATE"] = "127.0.0.0/8"
    return subprocess.Popen(
        [sys.executable, "-c", BEGIN + script],
        cwd=ROOT,
        env=kept | around,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )


def _said(folder: Path, script: str, typed: str = "") -> str:
    process = _process(folder, script)
    said, _ = process.communicate(typed)
    assert process.returncode == 0
    return said


def _killed_after(folder: Path, script: str, lines: int, typed: str = "") -> list[str]:
    """What a process had said when it was killed, some lines after its begin."""
    process = _process(folder, script)
    assert process.stdin is not None and process.stdout is not None
    process.stdin.write(typed)
    process.stdin.close()
    heard = [process.stdout.readline().strip() for _ in range(lines)]
    process.kill()
    heard += process.stdout.read().split()
    process.wait()
    process.stdout.close()
    return heard


def test_a_server_killed_amid_acts_loses_none_and_doubles_none(tmp_path: Path):
    copy_template(tmp_path / "desk")
    keys, draws = [str(uuid.uuid4()) for _ in range(120)], random.Random(7)
    left = list(keys)
    for _ in range(6):
        heard = set(_killed_after(tmp_path / "desk", ACTS, draws.randint(1, 15), "\n".join(left)))
        left = [key for key in left if key not in heard]
    _said(tmp_path / "desk", ACTS, "\n".join(left))
    assert _said(tmp_path / "desk", STANDS).split() == ["120", "120", "[]"]


def test_a_worker_killed_amid_a_call_makes_it_again_under_its_id(tmp_path: Path):
    folder = tmp_path / "desk"
    copy_template(folder)
    with running_receiver() as receiver:
        receiver.statuses = [-1]  # The receiver has all of the call, and does not answer yet.
        _said(folder, CALLS, f"{receiver.address}\n")
        worker = _process(folder, MAKE_CALLS)
        assert worker.stdin is not None and worker.stdout is not None
        worker.stdin.write("0\n")
        worker.stdin.flush()
        for _ in range(6000):
            if receiver.bodies:
                break
            time.sleep(0.01)
        worker.kill()
        worker.communicate()
        assert worker.returncode == -signal.SIGKILL
        assert _said(folder, CALL_STANDS) == "sending 1\n"
        # Nobody else takes it before its claim has run out; then it goes out once more.
        assert _said(folder, MAKE_CALLS, "0\n") == "0\n"
        assert _said(folder, MAKE_CALLS, "2\n") == "1\n"
    first, again = receiver.heads
    assert first["webhook-id"] == again["webhook-id"]
    assert receiver.bodies[0] == receiver.bodies[1]
    assert _said(folder, CALL_STANDS) == "taken 2\n"
