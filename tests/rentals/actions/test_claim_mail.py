"""A worker process is killed while it hands over a mail: nothing is lost, and nothing doubled in
silence.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from datetime import timedelta
from pathlib import Path
from urllib.parse import quote

import pytest
from django.db import connection
from django.utils import timezone

from rentals.actions.approve import resend
from rentals.actions.claim_mail import lease
from rentals.actions.send import send_due_mails
from rentals.models import Message
from tests.rentals.letters import approved, states

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.slow]
MANAGE = Path(__file__).resolve().parents[3] / "manage.py"
A, B, C = "ada@strings.example", "ben@strings.example", "cleo@strings.example"


def _database_url() -> str:
    told = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{Path(str(told['NAME'])).as_posix()}"
    user = quote(told["USER"], safe="") + (
        f":{quote(told['PASSWORD'], safe='')}" if told["PASSWORD"] else ""
    )
    host = quote(told["HOST"], safe="") + (f":{told['PORT']}" if told["PORT"] else "")
    return f"postgres://{user}@{host}/{told['NAME']}"


def _worker(tmp_path: Path, port: int) -> subprocess.Popen[bytes]:
    """A process of its own on the same database, as cron starts it."""
    told = {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": "kitdesk.settings",
        "DATABASE_URL": _database_url(),
        "KITDESK_VAR": str(tmp_path / "worker"),
        "EMAIL_URL": f"smtp://127.0.0.1:{port}",
    }
    return subprocess.Popen([sys.executable, str(MANAGE), "tick"], env=told, stdout=subprocess.PIPE)


def _wait_for(what, seconds: float = 60.0) -> None:
    ends = time.monotonic() + seconds
    while not what():
        assert time.monotonic() < ends, "it did not come to pass in time"
        time.sleep(0.02)


@pytest.mark.parametrize("taken", [True, False], ids=["the server took it", "the server did not"])
def test_kill_in_the_middle_of_a_mail(smtp_server, tmp_path, taken):
    approved(A, B, C)
    smtp_server.mute_s, smtp_server.delay_s = (30.0, 0.0) if taken else (0.0, 30.0)
    worker = _worker(tmp_path, smtp_server.port)
    try:
        _wait_for(lambda: smtp_server.attempts == 1)
        worker.send_signal(signal.SIGKILL)
    finally:
        worker.kill()
        worker.communicate()
    assert states()[A] == "sending"
    smtp_server.mute_s = smtp_server.delay_s = 0.0

    send_due_mails()
    assert states() == {A: "sending", B: "sent", C: "sent"}
    send_due_mails(now=timezone.now() + lease().duration + timedelta(minutes=1))
    assert states() == {A: "uncertain", B: "sent", C: "sent"}
    assert [mail.recipients[0] for mail in smtp_server.received] == ([A, B, C] if taken else [B, C])

    resend(Message.objects.get(to_address=A))
    assert states()[A] == "sent"
    ids = {mail.message["Message-ID"] for mail in smtp_server.received}
    assert len(ids) == 3  # where A came twice, both bear one Message-ID
    assert len(smtp_server.received) == (4 if taken else 3)


def test_the_tick_of_a_living_process_sends_everything(smtp_server, tmp_path):
    approved(A, B, C)
    worker = _worker(tmp_path, smtp_server.port)
    said, _ = worker.communicate(timeout=600)
    assert worker.returncode == 0
    assert b"3 mails sent" in said
    assert states() == {A: "sent", B: "sent", C: "sent"}
