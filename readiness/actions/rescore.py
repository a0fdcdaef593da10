"""Scoring stored captures again, many at a time on all cores, after a limit, a plan or the method has changed."""

from __future__ import annotations

import multiprocessing
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from itertools import islice

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from readiness.actions.conclude import conclude
from readiness.actions.score import new_verdict
from readiness.judging import Job, Outcome, do, limits_dict
from readiness.kept_maps import kept_maps
from readiness.limits_for import limits_with
from readiness.models import BenchPlan, BenchTest, Capture, Verdict
from readiness.signal.limits import Limits
from rentals.models import Kit

WRITE_AT_ONCE = 100
JOBS_AT_ONCE = 5000


@dataclass
class Rescored:
    """What a re-scoring did: captures looked at, captures whose verdict changed, kits whose verdict changed.

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
        Processes that score. The rows are written here, while the others go on scoring.
    only_stale : bool
        Leave out captures whose verdict was given under the same limits and method.
    told : callable
        Called with the number done and the total.
    """
    found = captures.filter(status=Capture.Status.SCORED).select_related("kit__kit_type").order_by("kit", "pk")
    before = dict(BenchTest.objects.filter(current=True).values_list("kit__code", "verdict"))
    jobs = list(_jobs(found, _LimitBook(), only_stale))
    report, done = Rescored(len(jobs)), 0
    left = Counter(job.kit for job in jobs)
    others = _judged_by_another_plan(captures) - set(left)
    for outcomes in _batches(_outcomes(jobs, workers), WRITE_AT_ONCE):
        batch = jobs[done : done + len(outcomes)]
        report.changed += _write(outcomes, {job.pk: job for job in batch}, why)
        left.subtract(job.kit for job in batch)
        # A kit is judged once its last capture is in: here, while the workers go on with the next kits.
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
    judged_by = dict(Verdict.objects.filter(current=True, capture__in=captures).values_list("capture_id", "limits"))
    for capture in captures.iterator(chunk_size=500):
        limits = book.of(capture)
        if only_stale and judged_by.get(capture.pk) == limits_dict(limits):
            continue
        path, data = _place(capture)
        yield Job(capture.pk, path, data, capture.name, capture.kit.code, capture.test, capture.declared, maps, limits)


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
    # Spawned, not forked: a fork would share this process's database connection.
    with ProcessPoolExecutor(workers, mp_context=multiprocessing.get_context("spawn")) as pool:
        for start in range(0, len(jobs), JOBS_AT_ONCE):
            yield from pool.map(do, jobs[start : start + JOBS_AT_ONCE], chunksize=8)


def _batches(outcomes: Iterable[Outcome], size: int) -> Iterator[list[Outcome]]:
    source = iter(outcomes)
    while batch := list(islice(source, size)):
        yield batch


@transaction.atomic
def _write(outcomes: list[Outcome], jobs: dict[int, Job], why: str) -> list[str]:
    """Keep a batch of outcomes as current verdicts; names of the captures whose verdict is another than before."""
    keys = [outcome.pk for outcome in outcomes]
    captures = {c.pk: c for c in Capture.objects.select_for_update(of=("self",)).filter(pk__in=keys)}
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
        if verdict is None or outcome.result is None or verdict.verdict != outcome.result["verdict"]:
            changed.append(capture.name)
    Verdict.objects.filter(pk__in=old).update(current=False)
    Verdict.objects.bulk_create(new)
    return changed


def _judged_by_another_plan(captures: QuerySet[Capture]) -> set[str]:
    """Codes of kits among the captures' whose round was judged for other tests than their plan asks for now."""
    rounds = BenchTest.objects.filter(current=True, kit__in=captures.values("kit")).select_related("kit__kit_type")
    plans = {plan.kit_type_id: list(plan.required) for plan in BenchPlan.objects.all()}
    return {r.kit.code for r in rounds if r.required != plans.get(r.kit.kit_type_id, r.required)}


def _judge_kits(codes: set[str], before: dict[str, str], report: Rescored) -> None:
    for kit in Kit.objects.filter(code__in=codes).order_by("code"):
        current = conclude(kit)
        if current is not None and current.verdict != before.get(kit.code, ""):
            report.kits[kit.code] = (before.get(kit.code, ""), current.verdict)
