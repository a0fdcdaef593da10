"""Scoring many stored captures on all cores. Imports no Django: the worker processes start quickly
and need no database.
"""

from __future__ import annotations

import multiprocessing
from collections import deque
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from readiness.judgement.judging import judge, open_capture
from readiness.signal.errors import CaptureRefused
from readiness.signal.limits import Limits

JOBS_AT_ONCE = 8
"""Jobs handed over together: a tenth of a second of work, so that all processes end at nearly the
same time, and handing over costs little beside it.
"""


@dataclass(frozen=True)
class ScoringJob:
    """All that a process needs to score one stored capture again: its path, or its bytes where it
    has none.
    """

    pk: int
    path: str
    data: bytes | None
    name: str
    kit: str
    test: str
    declared: Mapping[str, Any] = field(default_factory=dict)
    maps: tuple[str, ...] = ()
    limits: Limits = field(default_factory=Limits)


@dataclass(frozen=True)
class ScoringOutcome:
    """What became of a job: a stored result, or the refusal's sentence and the missing fact."""

    pk: int
    result: dict[str, Any] | None = None
    refusal: str = ""
    missing: str = ""


def do_job(job: ScoringJob) -> ScoringOutcome:
    """Read and score one stored capture; a refusal is an outcome, not an exception."""
    try:
        data = Path(job.path).read_bytes() if job.data is None else job.data
        capture = open_capture(job.name, data, job.declared, job.maps)
        result = judge(capture, job.kit, job.test, job.limits)
    except CaptureRefused as refusal:
        return ScoringOutcome(job.pk, None, refusal.on_screen, refusal.missing)
    except OSError as problem:
        reason = problem.strerror or problem
        return ScoringOutcome(job.pk, None, f"The stored file cannot be read: {reason}.")
    return ScoringOutcome(job.pk, result)


def do_jobs(jobs: Sequence[ScoringJob]) -> list[ScoringOutcome]:
    """``do_job`` for several jobs, handed to another process in one go."""
    return [do_job(job) for job in jobs]


@contextmanager
def helpers(count: int) -> Iterator[Executor | None]:
    """So many further processes for `outcomes_of`, which start at once, beside whatever comes
    first; None where there are none to be.
    """
    if count < 1:
        yield None
        return
    # Spawned, not forked: a fork would share this process's database connection.
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(count, mp_context=context)
    try:
        for _ in range(count):
            pool.submit(do_jobs, [])
        yield pool
    finally:
        # Who stops early waits for what is at hand, not for all that was handed over.
        pool.shutdown(cancel_futures=True)


def outcomes_of(jobs: Sequence[ScoringJob], pool: Executor | None) -> Iterator[ScoringOutcome]:
    """The outcomes of all jobs in any order, scored by this process and by those of a pool."""
    if pool is None or len(jobs) < 2:
        yield from map(do_job, jobs)
    else:
        yield from _shared(jobs, pool)


def _shared(jobs: Sequence[ScoringJob], pool: Executor) -> Iterator[ScoringOutcome]:
    """The pool works from the first job on, this process from the last, until they meet.

    What the pool has done goes out first: whoever takes it has rows to write while the pool goes
    on, and only where there are none does this process score as well.
    """
    waiting: deque[tuple[Future[list[ScoringOutcome]], Sequence[ScoringJob]]] = deque()
    for start in range(0, len(jobs), JOBS_AT_ONCE):
        some_jobs = jobs[start : start + JOBS_AT_ONCE]
        waiting.append((pool.submit(do_jobs, some_jobs), some_jobs))
    while waiting:
        first, _ = waiting[0]
        last, last_jobs = waiting[-1]
        if not first.done() and last.cancel():
            waiting.pop()
            yield from do_jobs(last_jobs)
        else:
            waiting.popleft()
            yield from first.result()
