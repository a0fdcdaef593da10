"""Trying an act again that found the database locked, or whose locks crossed those of another."""

from __future__ import annotations

import random
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TypeVar

from django.db import OperationalError, connection

Result = TypeVar("Result")

#: What PostgreSQL calls it (SQLSTATE): deadlock, serialization failure, lock not to be had.
_CROSSED = {"40P01", "40001", "55P03"}
_FIRST_REST_S, _LONGEST_REST_S = 0.05, 1.0


def is_lock(problem: BaseException) -> bool:
    """Whether the database refused because of somebody else's lock: another try may succeed."""
    if not isinstance(problem, OperationalError):
        return False
    if getattr(problem.__cause__, "sqlstate", None) in _CROSSED:
        return True
    words = str(problem).lower()
    return "is locked" in words or "is busy" in words


@contextmanager
def left_out_if_locked() -> Iterator[None]:
    """For what is written down in passing, while a page is shown: a lock is no reason for showing
    none.
    """
    try:
        yield
    except OperationalError as problem:
        if not is_lock(problem):
            raise


def through_locks(
    act: Callable[[], Result],
    *,
    longest_s: float,
    clock: Callable[[], float] = time.monotonic,
    rest: Callable[[float], None] = time.sleep,
) -> Result:
    """What `act` returns, tried again with growing rests while it meets a lock.

    Inside somebody else's transaction it is tried once: that one is broken and must be begun anew
    by whoever began it. Raises the last refusal once `longest_s` seconds have passed, and at once
    whatever is no lock.
    """
    began, pause = clock(), _FIRST_REST_S
    while True:
        try:
            return act()
        except OperationalError as problem:
            if not is_lock(problem) or connection.in_atomic_block:
                raise
            if clock() - began + pause > longest_s:
                raise
        # By chance, so that two that crossed once do not cross again.
        rest(pause * random.uniform(0.5, 1.0))  # noqa: S311  (no secret)
        pause = min(pause * 2, _LONGEST_REST_S)
