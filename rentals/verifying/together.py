"""A check by as many processes as there are free cores, each with its own connection."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ProcessPoolExecutor, as_completed
from multiprocessing import get_context

from django.db import connection

from . import helper
from .findings import Findings
from .jobs import VerifyJob, run_job

Looked = Iterator[tuple[VerifyJob, Findings]]
#: Below so many parts another process costs more than it takes over.
FEW = 40


def usual_processes(jobs: int) -> int:
    """One for a small desk, else one for each core that this process may use, two at most. What a
    transaction has written that is still open, no other process sees.
    """
    if jobs < FEW or connection.in_atomic_block:
        return 1
    return min(2, len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else 2)


def look_at(jobs: list[VerifyJob], heads: Mapping[int, str], processes: int) -> Looked:
    """Each part with what was found in it, in the order in which they come to an end."""
    if processes < 2:
        for job in jobs:
            yield job, run_job(job, heads)
        return
    # Spawned, not forked: a fork would share the database connection.
    pool = ProcessPoolExecutor(
        processes,
        mp_context=get_context("spawn"),
        initializer=helper.set_up,
        initargs=(str(connection.settings_dict["NAME"]),),
    )
    with pool:
        waiting = {pool.submit(helper.run, job, dict(heads)): job for job in jobs}
        try:
            for done in as_completed(waiting):
                yield waiting[done], done.result()
        finally:
            pool.shutdown(cancel_futures=True)


def collect(looked: Looked, each: Callable[[VerifyJob, bool], object]) -> Findings:
    """All findings; `each` hears of every part whether it is clean."""
    found = Findings()
    for job, findings in looked:
        each(job, findings.clean)
        found.join(findings)
    return found
