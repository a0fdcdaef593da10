"""What a file could make the process that opens it do."""

from __future__ import annotations

import os
import resource
import signal
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

Given = tuple[dict[str, Any], bytes]
calls: list[bytes] = []


def echo(facts: dict[str, Any], data: bytes) -> Given:
    return facts, data[::-1]


def count(_: dict[str, Any], data: bytes) -> Given:
    calls.append(data)
    return {"calls": len(calls), "process": os.getpid()}, b""


def rest(facts: dict[str, Any], _: bytes) -> Given:
    time.sleep(30)
    return facts, b""


def hoard(facts: dict[str, Any], _: bytes) -> Given:
    return facts, bytes(300 * 2**20)


def break_down(_: dict[str, Any], __: bytes) -> Given:
    os._exit(3)


def answer_nonsense(_: dict[str, Any], __: bytes) -> Given:
    return ["no facts"], b""  # type: ignore[return-value]


def answer_deep(_: dict[str, Any], __: bytes) -> Given:
    deep: dict[str, Any] = {}
    for _level in range(100_000):
        deep = {"a": deep}
    return deep, b""


def fail(_: dict[str, Any], __: bytes) -> Given:
    raise KeyError("the trace names this")


def look_around(facts: dict[str, Any], _: bytes) -> Given:
    """What can be had and done here."""
    tried = {
        "writes": lambda: Path(facts["folder"], "written").write_bytes(b"x"),
        "opens": lambda: [os.dup(1) for _ in range(100)],
        "dumps": lambda: _more(resource.RLIMIT_CORE),
        "has_time": lambda: _more(resource.RLIMIT_CPU),
    }
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    return {
        "environment": sorted(os.environ),
        "django": "django" in __import__("sys").modules,
        "seconds": resource.getrlimit(resource.RLIMIT_CPU)[1],
        "done": [name for name, act in tried.items() if _goes(act)],
    }, b""


def _more(kind: int) -> None:
    if resource.getrlimit(kind)[1] > 5:
        return
    raise OSError


def _goes(act: Callable[[], object]) -> bool:
    try:
        act()
    except OSError:
        return False
    return True
