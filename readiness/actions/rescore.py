"""Scoring stored captures again, many at a time on all cores, after a limit, a plan or the method
has changed.
"""

from __future__ import annotations

import multiprocessing
import os
from collections import Counter, deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from dataclasses import dataclass, field
from itertools import islice

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from readiness.actions.conclude import conclude
from readiness.actions.verdicts import new_verdict
from readiness.intake.kept_maps import kept_maps
from readiness.judgement.judging import Job, Outcome, do, do_all, limits_dict
from readiness.judgement.limits_for import limits_with
from readiness.models import BenchPlan, BenchTest, Capture, Verdict
from readiness.signal.limits import Limits
from rentals.models import Kit

WRITE_AT_ONCE = 40
CHUNK = 4
"""Captures handed over at once: some twenty milliseconds of work, so that all processes end at
nearly the same time.
"""
AHEAD = 25
"""Chunks that lie ready for each other process while this one writes: half a second of work."""


@dataclass
class Rescored:
    """What a re-scoring did: captures looked at, captures whose verdict changed, kits whose verdict
    changed.

    ``kits`` maps a kit's code to its verdict before and after; an empty text is "not finished".
    """

    captures: int = 0
    changed: list[str] = field(default_factory=list)
    kits: dict[str, tuple[str, str]] = field(default_factory=dict)


def rescore(
    captures: QuerySet[Capture],
    *,
    workers: int = 1,
    only_stale: bool = False,
    why: str = "scored again",
    told: Callable[[int, int], None] = lambda done, total: None,
) -> Rescored:
    """Score scored captures again under the limits of now; old verdicts stay in their history.

    Parameters
    ----------
    captures : queryset
        Which; those that are not scored are left out.
    workers : int
        Processes that score, this one among them: it also writes the rows, and scores while there
        are none to write.
    only_stale : bool
        Leave out captures whose verdict was given under the same limits and method.
    told : callable
        Called with the number done and the total.
    """
    found = (
        captures.filter(status=Capture.Status.SCORED)
        .select_related("kit__kit_type")
        .order_by("kit", "pk")
    )
    before = dict(BenchTest.objects.filter(current=True).values_list("kit__code", "verdict"))
    jobs = list(_jobs(found, _LimitBook(), only_stale))
    report, done = Rescored(len(jobs)), 0
    left = Counter(job.kit for job in jobs)
    others = _judged_by_another_plan(captures) - set(left)
    for outcomes in _batches(_outcomes(jobs, workers), WRITE_AT_ONCE):
        batch = jobs[done : done + len(outcomes)]
        report.changed += _write(outcomes, {job.pk: job for job in batch}, why)
        left.subtract(job.kit for job in batch)
        # A kit is judged once its last capture is in: here, while the workers go on with the next
        # kits.
        _judge_kits({job.kit for job in batch if not left[job.kit]}, before, report)
        done += len(outcomes)
        told(done, len(jobs))
    _judge_kits(others, before, report)
    return report


class _LimitBook:
    """Limits by kit type, amplifier and pack, each looked up once."""

    def __init__(self) -> None:
        self._known: dict[tuple[int, int | None, int | None], Limits] = {}

    def of(self, capture: Capture) -> Limits:
        key = (capture.kit.kit_type_id, capture.amplifier_id, capture.battery_pack_id)
        if key not in self._known:
            self._known[key] = limits_with(capture.kit.kit_type, *key[1:])
        return self._known[key]


def _jobs(captures: QuerySet[Capture], book: _LimitBook, only_stale: bool) -> Iterator[Job]:
    maps = kept_maps()
    judged_by = dict(
        Verdict.objects.filter(current=True, capture__in=captures).values_list(
            "capture_id", "limits"
        )
    )
    for capture in captures.iterator(chunk_size=500):
        limits = book.of(capture)
        if only_stale and judged_by.get(capture.pk) == limits_dict(limits):
            continue
        path, data = _place(capture)
        yield Job(
            capture.pk,
            path,
            data,
            capture.name,
            capture.kit.code,
            capture.test,
            capture.declared,
            maps,
            limits,
        )


def _place(capture: Capture) -> tuple[str, bytes | None]:
    try:
        return capture.file.path, None
    except NotImplementedError:
        # Storage that is no folder (S3): the bytes go along.
        with capture.file.open("rb") as stream:
            return "", stream.read()


def _outcomes(jobs: list[Job], workers: int) -> Iterator[Outcome]:
    if workers <= 1 or len(jobs) < 2:
        yield from map(do, jobs)
        return
    # A process for each core is the parting of the work; threads of the linear algebra would only
    # get in its way.
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")
    # Spawned, not forked: a fork would share this process's database connection.
    with ProcessPoolExecutor(workers - 1, mp_context=multiprocessing.get_context("spawn")) as pool:
        yield from _shared(jobs, pool, AHEAD * (workers - 1))


def _shared(jobs: list[Job], pool: ProcessPoolExecutor, ahead: int) -> Iterator[Outcome]:
    """Outcomes in the order of the jobs: up to ``ahead`` chunks lie ready for the pool, the others
    are done here.

    When all are handed out, those that nobody has begun are taken back one by one, from the last.
    """
    chunks = [jobs[start : start + CHUNK] for start in range(0, len(jobs), CHUNK)]
    running: deque[Future[list[Outcome]]] = deque()
    told: dict[int, Future[list[Outcome]] | list[Outcome]] = {}
    first = 0
    for number, chunk in enumerate(chunks):
        while running and running[0].done():
            running.popleft()
        if len(running) < ahead:
            told[number] = future = pool.submit(do_all, chunk)
            running.append(future)
        else:
            told[number] = do_all(chunk)
        while first in told and _is_there(told[first]):
            yield from _taken(told.pop(first))
            first += 1
    last = len(chunks) - 1
    while told:
        # What the others have done goes out first: there are rows to write while they go on.
        if _is_there(told[first]) or last <= first:
            yield from _taken(told.pop(first))
            first += 1
            continue
        waiting = told[last]
        if isinstance(waiting, Future) and waiting.cancel():
            told[last] = do_all(chunks[last])
        last -= 1


def _is_there(chunk: Future[list[Outcome]] | list[Outcome]) -> bool:
    return not isinstance(chunk, Future) or chunk.done()


def _taken(chunk: Future[list[Outcome]] | list[Outcome]) -> list[Outcome]:
    return chunk.result() if isinstance(chunk, Future) else chunk


def _batches(outcomes: Iterable[Outcome], size: int) -> Iterator[list[Outcome]]:
    source = iter(outcomes)
    while batch := list(islice(source, size)):
        yield batch


@transaction.atomic
def _write(outcomes: list[Outcome], jobs: dict[int, Job], why: str) -> list[str]:
    """Keep a batch of outcomes as current verdicts; names of the captures whose verdict is another
    than before.
    """
    keys = [outcome.pk for outcome in outcomes]
    captures = {
        c.pk: c for c in Capture.objects.select_for_update(of=("self",)).filter(pk__in=keys)
    }
    before = {v.capture_id: v for v in Verdict.objects.filter(current=True, capture__in=keys)}
    old, new, changed, now = [], [], [], timezone.now()
    for outcome in outcomes:
        capture, verdict = captures.get(outcome.pk), before.get(outcome.pk)
        if capture is None or capture.status != Capture.Status.SCORED:
            continue
        kept = limits_dict(jobs[outcome.pk].limits)
        if verdict and verdict.result == outcome.result and verdict.limits == kept:
            continue
        if verdict:
            old.append(verdict.pk)
        if outcome.result is None:
            Capture.objects.filter(pk=capture.pk).update(
                status=Capture.Status.ASKING if outcome.missing else Capture.Status.UNREADABLE,
                refusal=outcome.refusal[:600],
                missing=outcome.missing,
            )
        else:
            new.append(new_verdict(capture, outcome.result, kept, why=why, at=now))
        if (
            verdict is None
            or outcome.result is None
            or verdict.verdict != outcome.result["verdict"]
        ):
            changed.append(capture.name)
    Verdict.objects.filter(pk__in=old).update(current=False)
    Verdict.objects.bulk_create(new)
    return changed


def _judged_by_another_plan(captures: QuerySet[Capture]) -> set[str]:
    """Codes of kits among the captures' whose round was judged for other tests than their plan asks
    for now.
    """
    rounds = BenchTest.objects.filter(current=True, kit__in=captures.values("kit"))
    rounds = rounds.select_related("kit__kit_type")
    kit_types = {bench_round.kit.kit_type for bench_round in rounds}
    required = {kit_type.pk: list(BenchPlan.of(kit_type).required) for kit_type in kit_types}
    return {
        bench_round.kit.code
        for bench_round in rounds
        if bench_round.required != required[bench_round.kit.kit_type_id]
    }


def _judge_kits(codes: set[str], before: dict[str, str], report: Rescored) -> None:
    for kit in Kit.objects.filter(code__in=codes).order_by("code"):
        current = conclude(kit)
        if current is not None and current.verdict != before.get(kit.code, ""):
            report.kits[kit.code] = (before.get(kit.code, ""), current.verdict)
