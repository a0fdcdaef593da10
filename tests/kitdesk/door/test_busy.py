"""What the desk cannot do now is said with the seconds to wait, and never as a page for people."""

from __future__ import annotations

import pytest
from django.db import OperationalError

from kitdesk.door import bench, front, tokens
from rentals.actions import once
from rentals.models import SubmittedForm
from tests.kitdesk.door.calls import Program

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.any_database]


def _problem(answer, status: int) -> dict:
    assert answer.status_code == status
    assert answer.headers["Content-Type"] == "application/problem+json"
    return answer.json()


def _raising(problem: Exception):
    def refuse(*_: object, **__: object) -> None:
        raise problem

    return refuse


def test_a_locked_database_is_tried_again_and_then_said(monkeypatch):
    program, locked = Program(), OperationalError("database is locked")
    right, tries = tokens.token_with, []

    def locked_once(key: str):
        tries.append(key)
        if len(tries) == 1:
            raise locked
        return right(key)

    monkeypatch.setattr(tokens, "token_with", locked_once)
    assert program.get("kits").status_code == 200 and len(tries) == 2
    monkeypatch.setattr(front, "LONGEST_WAIT_S", 0)
    monkeypatch.setattr(once, "LONGEST_WAIT_S", 0)
    monkeypatch.setattr(tokens, "token_with", _raising(locked))
    assert program.get("kits").headers["Retry-After"] == "5"
    _problem(program.get("kits"), 503)
    monkeypatch.setattr(tokens, "token_with", right)
    monkeypatch.setattr(bench, "keep_drop", _raising(locked))
    sent = program.send("captures", b"1", **{"Idempotency-Key": "k"})
    assert "data were held" in _problem(sent, 503)["detail"]
    assert sent.headers["Retry-After"] == "5"
    # The key is free for the next try.
    assert not SubmittedForm.objects.exists()


def test_a_full_disk_and_a_failure_are_told_apart(monkeypatch, caplog):
    program = Program()
    monkeypatch.setattr(bench, "keep_drop", _raising(OSError(28, "No space left on device")))
    assert "disk" in _problem(program.send("captures", b"1"), 507)["detail"]
    monkeypatch.setattr(bench, "keep_drop", _raising(KeyError("secret words")))
    answer = program.send("captures", b"1")
    assert "secret words" not in str(_problem(answer, 500))
    assert "secret words" in caplog.text
