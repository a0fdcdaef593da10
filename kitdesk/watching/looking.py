"""A look at every part of the desk."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future
from datetime import datetime
from threading import Lock, Thread
from typing import Generic, TypeVar

from django.db import connections

from rentals.selectors.kept_answers import KeptAnswers

from . import ground, keeping, work
from .findings import DeskFinding

Seen = TypeVar("Seen")


def all_findings(now: datetime) -> list[DeskFinding]:
    """Every part, in the order in which one would look. Eight queries."""
    jobs = work.queue(now)
    return [
        ground.migrations(),
        work.worker(now, jobs),
        jobs,
        work.mail(now),
        work.webhooks(now),
        keeping.disk(),
        keeping.backup(now),
        keeping.verified(now),
        ground.clock(now),
    ]


def pressing_findings(now: datetime) -> list[DeskFinding]:
    """What the owner must know at once. Seven queries, six where the mails are known; the backups
    have a sentence of their own.
    """
    jobs = work.queue(now)
    found = [
        work.worker(now, jobs),
        jobs,
        work.mail(now, KeptAnswers()),
        work.webhooks(now),
        keeping.disk(),
        keeping.verified(now),
        ground.clock(now),
    ]
    return [finding for finding in found if finding.pressing]


class BoundedLook(Generic[Seen]):
    """A look that may hang, in a thread of its own: one at a time, however many wait for it."""

    def __init__(self, look: Callable[[], Seen]) -> None:
        self._look = look
        self._lock = Lock()
        self._going: Future[Seen] | None = None

    def within(self, seconds: float) -> Seen:
        """What it sees. Raises TimeoutError where it takes longer, or what the look has raised."""
        with self._lock:
            if self._going is None or self._going.done():
                self._going = Future()
                Thread(target=self._run, args=[self._going], name="look", daemon=True).start()
            going = self._going
        return going.result(seconds)

    def _run(self, going: Future[Seen]) -> None:
        try:
            seen = self._look()
        except Exception as problem:
            connections.close_all()
            going.set_exception(problem)
        else:
            connections.close_all()
            going.set_result(seen)
