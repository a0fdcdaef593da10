"""Functions run in a process of their own: what it may take, what it knows, how it ends."""

from __future__ import annotations

import os
import resource
import signal
import sys
from pathlib import Path

import pytest

from rentals import limited_process
from rentals.limited_process import AllBusy, ApartFailed, OverLimits, ProcessLimits, run_limited

from . import apart_functions

pytestmark = [
    pytest.mark.any_database,
    pytest.mark.skipif(sys.platform != "linux", reason="elsewhere nothing but time is limited"),
]
LIMITS = ProcessLimits(seconds=5, mib=64)


def test_a_function_is_called_elsewhere_and_its_answer_comes_back(monkeypatch):
    facts = {"name": "Zoë\n", "numbers": [1, 2.5, None]}
    data = bytes(range(256)) * 8000
    assert run_limited(apart_functions.echo, facts, data, LIMITS) == (facts, data[::-1])
    monkeypatch.setattr(limited_process, "FORKS", False)
    assert run_limited(apart_functions.echo, facts, data, LIMITS) == (facts, data[::-1])


def test_it_knows_no_secret_and_can_neither_write_nor_last(monkeypatch, tmp_path: Path):
    monkeypatch.setenv("DATABASE_URL", "postgres://secret")
    limited_process._forking.end()
    facts, _ = run_limited(apart_functions.look_around, {"folder": str(tmp_path)}, b"", LIMITS)
    assert not {"DATABASE_URL", "SECRET_KEY", "KITDESK_VAR"} & set(facts["environment"])
    assert not facts["django"]
    assert facts["seconds"] == LIMITS.seconds
    assert facts["done"] == []
    assert not (tmp_path / "written").read_bytes()


@pytest.mark.parametrize("name", ["rest", "hoard", "break_down", "answer_nonsense", "answer_deep"])
def test_too_long_too_large_and_broken_are_over_the_limits(name, monkeypatch):
    monkeypatch.setattr(limited_process, "_PATIENCE", 0.1)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with pytest.raises(OverLimits) as over:
        run_limited(getattr(apart_functions, name), {}, b"", LIMITS)
    assert over.value.words("Send CSV.").endswith("than such a file needs. Send CSV.")
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 60_000


def test_an_answer_that_is_too_long_is_not_taken(monkeypatch):
    monkeypatch.setattr(limited_process, "_MOST_ANSWERED", 1000)
    with pytest.raises(OverLimits):
        run_limited(apart_functions.echo, {}, b"x" * 1001, LIMITS)


def test_what_was_not_foreseen_keeps_its_trace():
    with pytest.raises(ApartFailed, match="the trace names this"):
        run_limited(apart_functions.fail, {}, b"", LIMITS)


def test_each_file_has_a_fork_of_its_own_unless_several_may_share_one():
    def called(limits: ProcessLimits) -> tuple[int, int]:
        facts, _ = run_limited(apart_functions.count, {}, b"x", limits)
        return facts["calls"], facts["process"]

    first, second = called(LIMITS), called(LIMITS)
    assert first[0] == second[0] == 1
    assert first[1] != second[1]
    sharing = ProcessLimits(seconds=5, mib=64, files=2)
    (one, process), again, anew = called(sharing), called(sharing), called(sharing)
    assert (one, again, anew[0]) == (1, (2, process), 1)
    # One that is gone meanwhile is replaced, and so is the process that forks.
    (resting,) = [fork for fork in limited_process._resting if fork.process == anew[1]]
    os.kill(anew[1], signal.SIGKILL)
    resting.channel.settimeout(20)
    assert resting.channel.recv(1) == b""
    limited_process._forking._process.kill()
    assert called(sharing)[0] == 1


def test_who_finds_no_place_is_asked_to_come_again(monkeypatch):
    monkeypatch.setattr(limited_process, "_PATIENCE", 0.01)
    for _ in range(limited_process._AT_ONCE):
        limited_process._places.acquire()
    try:
        with pytest.raises(AllBusy) as busy:
            run_limited(apart_functions.echo, {}, b"", LIMITS)
    finally:
        for _ in range(limited_process._AT_ONCE):
            limited_process._places.release()
    assert "again in a minute" in busy.value.words("Send CSV.")
