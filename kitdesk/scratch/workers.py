"""How much sooner two workers have scored a drop than one: real worker processes, by turns.

Run as ``python -m kitdesk.scratch.workers CAPTURES TURNS`` on an empty desk. Counted is only while
every worker is at work, so neither their start nor who ends last is in it.
"""

from __future__ import annotations

import json
import subprocess
import sys
import time
from dataclasses import asdict, dataclass
from datetime import datetime
from statistics import median

from kitdesk.scratch.desk import ROOT, measured

_LONGEST_S = 3600.0


@dataclass(frozen=True)
class WorkersSpeed:
    """Captures a second with one worker and with two, each the median of its turns; `turns` have
    them all. Of a capture: milliseconds of processor time in the worker's own process, and of these
    in transactions. The load of the machine, in words.
    """

    one: float
    two: float
    turns: list[list[float]]
    captures: int
    ms: float
    in_transactions_ms: float
    load: str
    was_busy: bool
    database: str

    @property
    def ratio(self) -> float:
        """How many times the rate of one worker two have."""
        return self.two / self.one

    @property
    def reckoned(self) -> float:
        """What the ratio would be on two free cores by processor time alone, where each waits for
        the other's transactions: a closed queue of two at one server.
        """
        return 2 / (1 + (self.in_transactions_ms / self.ms) ** 2)


def workers_speed(captures: int, turns: int) -> WorkersSpeed:
    """Measured on a scratch desk. Raises RuntimeError where that fails."""
    return WorkersSpeed(**measured("workers", str(captures), str(turns)))


# On the scratch desk ---------------------------------------------------------
def _main(captures: int, turns: int) -> None:
    import django

    django.setup()
    from django.core.management import call_command
    from django.db import connection

    from kitdesk.scratch.bench import TESTS, kits_at_bench
    from kitdesk.scratch.load import LoadWatch

    # Before its own setting up makes the machine look busy.
    load = LoadWatch(own=2)
    call_command("migrate", verbosity=0)
    a_turn = max(1, captures // len(TESTS))
    kits = iter(kits_at_bench((2 * turns + 1) * a_turn))
    ms, in_transactions_ms = _costs([next(kits) for _ in range(a_turn)])
    rates: dict[int, list[float]] = {1: [], 2: []}
    with load:
        for turn in range(turns):
            # Each drop has more captures to be held against than the one before: who comes second
            # comes first the next time.
            for workers in (1, 2) if turn % 2 == 0 else (2, 1):
                rates[workers].append(_turn(workers, [next(kits) for _ in range(a_turn)]))
    speed = WorkersSpeed(
        one=median(rates[1]),
        two=median(rates[2]),
        turns=[rates[1], rates[2]],
        captures=a_turn * len(TESTS),
        ms=ms,
        in_transactions_ms=in_transactions_ms,
        load=load.words,
        was_busy=load.busy,
        database=connection.display_name,
    )
    print(json.dumps(asdict(speed)))


def _costs(kits: list) -> tuple[float, float]:
    """Milliseconds of processor time that a capture takes in this process, which does what a worker
    does, with what it has others do; and of these in transactions.
    """
    import os

    from kitdesk.scratch.bench import capture_files
    from kitdesk.scratch.lock_watch import LockWatch
    from readiness.actions.score import score_some
    from readiness.actions.scoring_tasks import MOST_OF_BATCH
    from readiness.actions.upload import store_upload

    upload = store_upload(capture_files(kits, seed=1))
    keys = list(upload.captures.order_by("kit", "pk").values_list("pk", flat=True))
    score_some(keys[:1])
    rest = keys[1:]
    began = sum(os.times()[:4])
    with LockWatch() as watch:
        for start in range(0, len(rest), MOST_OF_BATCH):
            score_some(rest[start : start + MOST_OF_BATCH])
    took = sum(os.times()[:4]) - began
    _none_waits()
    return 1e3 * took / len(rest), 1e3 * sum(watch.processor) / len(rest)


def _turn(workers: int, kits: list) -> float:
    """Captures a second while all of so many workers score what was dropped before they began."""
    from django_tasks_db.models import DBTaskResult

    from kitdesk.scratch.bench import capture_files
    from readiness.actions.upload import store_upload

    DBTaskResult.objects.all().delete()
    store_upload(capture_files(kits, seed=kits[0].pk))
    command = [sys.executable, str(ROOT / "manage.py"), "worker", "--stop-with-parent"]
    processes = [subprocess.Popen(command, stdin=subprocess.PIPE) for _ in range(workers)]
    try:
        ends = time.monotonic() + _LONGEST_S
        while DBTaskResult.objects.exclude(finished_at=None).count() < DBTaskResult.objects.count():
            if time.monotonic() > ends or any(each.poll() is not None for each in processes):
                raise RuntimeError("The workers did not score the drop.")
            time.sleep(0.2)
    finally:
        for process in processes:
            assert process.stdin is not None
            process.stdin.close()
            process.wait()
    _none_waits()
    return rate_of(
        [
            (str(done.worker_ids[-1]), done.started_at, done.finished_at, len(keys))
            for done in DBTaskResult.objects.order_by("started_at")
            for keys in done.args_kwargs["args"]
            if done.started_at and done.finished_at
        ],
        workers,
    )


def rate_of(tasks: list[tuple[str, datetime, datetime, int]], workers: int) -> float:
    """Captures a second while all workers were at work, from the tasks they did: who, from when to
    when, how many captures. A task that lies partly in that time counts by its share.

    Raises
    ------
    RuntimeError
        If there was no such time: the drop was too small for so many.
    """
    first: dict[str, datetime] = {}
    last: dict[str, datetime] = {}
    for who, began, ended, _ in tasks:
        first[who] = min(began, first.get(who, began))
        last[who] = max(ended, last.get(who, ended))
    too_small = "The drop was too small for all workers: ask for more captures."
    if len(first) < workers:
        raise RuntimeError(too_small)
    begin, end = max(first.values()), min(last.values())
    if begin >= end:
        raise RuntimeError(too_small)
    captures = 0.0
    for _, began, ended, count in tasks:
        inside = (min(ended, end) - max(began, begin)).total_seconds()
        captures += count * max(0.0, inside) / (ended - began).total_seconds()
    return captures / (end - begin).total_seconds()


def _none_waits() -> None:
    from readiness.models import Capture

    states = set(Capture.objects.values_list("status", flat=True))
    if states != {Capture.Status.SCORED}:
        raise RuntimeError(f"Captures of the measurement are {', '.join(sorted(states))}.")


if __name__ == "__main__":
    _main(int(sys.argv[1]), int(sys.argv[2]))
