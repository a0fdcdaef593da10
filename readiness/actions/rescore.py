"""Scoring stored captures again, many at a time on all cores, after a limit, a plan or the method
has changed.

`rescore` reads from top to bottom: which captures and by which limits (`_jobs`), their outcomes as
the processes give them, each batch written at once (`_keep`), and each kit judged when its last
capture is in.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from itertools import islice

from django.db.models import QuerySet
from django.utils import timezone

from readiness.actions.claim_capture import LONGEST_REFUSAL
from readiness.actions.conclude import conclude
from readiness.actions.verdicts import new_verdict
from readiness.judgement.judging import limits_dict
from readiness.judgement.scoring_jobs import ScoringJob, ScoringOutcome, helpers, outcomes_of
from readiness.models import BenchPlan, BenchTest, Capture, Verdict
from readiness.selectors.column_maps import column_maps
from readiness.selectors.limits import limits_with
from readiness.signal.limits import Limits
from rentals import transaction
from rentals.actions.lock_order import lock_in_order
from rentals.actions.record import Actor
from rentals.models import Kit

Status = Capture.Status
WRITTEN_AT_ONCE = 40
FETCHED_AT_ONCE = 200
#: Fewer captures are scored by the time that another process has started.
MANY = 50


@dataclass
class Rescored:
    """What a re-scoring did: captures looked at, names of captures whose verdict changed, kits
    whose verdict changed.

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
    actor: Actor = None,
    on_progress: Callable[[int, int], None] = lambda done, total: None,
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
    on_progress : callable
        Called with the number done and the total, first before any is done. What was written by
        then stays if it raises; a second call with `only_stale` does the rest.
    """
    are_many = captures.filter(status=Status.SCORED).count() >= MANY
    with helpers(workers - 1 if are_many else 0) as pool:
        return _rescored(captures, pool, only_stale, why, actor, on_progress)


def _rescored(
    captures: QuerySet[Capture],
    pool: Executor | None,
    only_stale: bool,
    why: str,
    actor: Actor,
    on_progress: Callable[[int, int], None],
) -> Rescored:
    jobs = {job.pk: job for job in _jobs(captures, only_stale)}
    captures_left = Counter(job.kit for job in jobs.values())
    other_kits = _kits_judged_by_another_plan(captures) - set(captures_left)
    verdicts_before = _verdicts_of_kits()
    report = Rescored(captures=len(jobs))
    done = 0
    on_progress(done, len(jobs))
    for outcomes in _in_batches(_outcomes(list(jobs.values()), pool)):
        kits = [jobs[outcome.pk].kit for outcome in outcomes]
        captures_left.subtract(kits)
        whole = {kit for kit in kits if not captures_left[kit]}
        # A kit is judged together with its last capture: whoever goes on after a process that died
        # finds no capture of it stale any more.
        with transaction.atomic():
            report.changed += _keep(outcomes, jobs, why)
            _judge_kits(whole, verdicts_before, report, actor)
        done += len(outcomes)
        on_progress(done, len(jobs))
    _judge_kits(other_kits, verdicts_before, report, actor)
    return report


def _in_batches(outcomes: Iterator[ScoringOutcome]) -> Iterator[list[ScoringOutcome]]:
    while batch := list(islice(outcomes, WRITTEN_AT_ONCE)):
        yield batch


def _verdicts_of_kits() -> dict[str, str]:
    """The verdict of each kit's current round, by the kit's code."""
    return dict(BenchTest.objects.filter(current=True).values_list("kit__code", "verdict"))


# What is to be scored ----------------------------------------------------
def _jobs(captures: QuerySet[Capture], only_stale: bool) -> Iterator[ScoringJob]:
    """One job for each scored capture, kit by kit."""
    scored = captures.filter(status=Status.SCORED).select_related("kit__kit_type")
    judged_by = _limits_of_verdicts(scored)
    maps = column_maps()
    book = _LimitBook()
    for capture in scored.order_by("kit", "pk").iterator(chunk_size=500):
        limits = book.limits_of(capture)
        if only_stale and judged_by.get(capture.pk) == limits_dict(limits):
            continue
        assert capture.kit is not None  # a capture is scored for a kit
        yield ScoringJob(
            pk=capture.pk,
            path=_path_of(capture),
            data=None,
            name=capture.name,
            kit=capture.kit.code,
            test=capture.test,
            declared=capture.declared,
            maps=maps,
            limits=limits,
        )


def _limits_of_verdicts(captures: QuerySet[Capture]) -> dict[int, dict[str, object]]:
    """The limits that the current verdicts were given by, by the capture's key."""
    current = Verdict.objects.filter(current=True, capture__in=captures)
    return dict(current.values_list("capture_id", "limits"))


class _LimitBook:
    """Limits by kit type, amplifier and pack, each looked up once."""

    def __init__(self) -> None:
        self._known: dict[tuple[int, int | None, int | None], Limits] = {}

    def limits_of(self, capture: Capture) -> Limits:
        assert capture.kit is not None
        kit_type = capture.kit.kit_type
        key = (kit_type.pk, capture.amplifier_id, capture.battery_pack_id)
        if key not in self._known:
            self._known[key] = limits_with(
                kit_type, amplifier_id=capture.amplifier_id, pack_id=capture.battery_pack_id
            )
        return self._known[key]


def _path_of(capture: Capture) -> str:
    """Path of the stored file; empty where files are kept in no folder."""
    try:
        return capture.file.path
    except NotImplementedError:
        return ""


def _outcomes(jobs: list[ScoringJob], pool: Executor | None) -> Iterator[ScoringOutcome]:
    """The outcomes of all jobs. Files that have no path are fetched some hundreds at a time: all at
    once they might fill the memory.
    """
    fetched = [job for job in jobs if not job.path]
    yield from outcomes_of([job for job in jobs if job.path], pool)
    for start in range(0, len(fetched), FETCHED_AT_ONCE):
        yield from _fetched_outcomes(fetched[start : start + FETCHED_AT_ONCE], pool)


def _fetched_outcomes(jobs: list[ScoringJob], pool: Executor | None) -> Iterator[ScoringOutcome]:
    captures = Capture.objects.only("file").in_bulk([job.pk for job in jobs])
    ready = []
    for job in jobs:
        try:
            with captures[job.pk].file.open("rb") as stream:
                ready.append(replace(job, data=stream.read()))
        except FileNotFoundError:
            yield ScoringOutcome(job.pk, None, "The stored file cannot be read: it is gone.")
    yield from outcomes_of(ready, pool)


# What came of it ---------------------------------------------------------
@transaction.atomic
def _keep(outcomes: list[ScoringOutcome], jobs: dict[int, ScoringJob], why: str) -> list[str]:
    """Keep a batch of outcomes as current verdicts; names of the captures whose verdict is another
    than before.
    """
    keys = [outcome.pk for outcome in outcomes]
    captures = _locked_captures(keys)
    verdicts = {v.capture_id: v for v in Verdict.objects.filter(current=True, capture__in=keys)}
    now = timezone.now()
    replaced, new, changed = [], [], []
    for outcome in outcomes:
        capture, before = captures.get(outcome.pk), verdicts.get(outcome.pk)
        limits = limits_dict(jobs[outcome.pk].limits)
        if capture is None or _is_same(outcome, limits, before):
            continue
        if before is not None:
            replaced.append(before.pk)
        if outcome.result is None:
            _refuse(outcome)
        else:
            new.append(new_verdict(capture, outcome.result, limits, why=why, at=now))
        if _is_another_verdict(outcome, before):
            changed.append(capture.name)
    Verdict.objects.filter(pk__in=replaced).update(current=False)
    Verdict.objects.bulk_create(new)
    return changed


def _locked_captures(keys: Iterable[int]) -> dict[int, Capture]:
    """Those of the captures that are still scored, locked, by their keys."""
    scored = Capture.objects.filter(pk__in=keys, status=Status.SCORED)
    return {capture.pk: capture for capture in lock_in_order(scored)}


def _is_same(outcome: ScoringOutcome, limits: dict[str, object], before: Verdict | None) -> bool:
    """Whether the verdict on file says all this already."""
    return before is not None and before.result == outcome.result and before.limits == limits


def _is_another_verdict(outcome: ScoringOutcome, before: Verdict | None) -> bool:
    if before is None or outcome.result is None:
        return True
    return before.verdict != outcome.result["verdict"]


def _refuse(outcome: ScoringOutcome) -> None:
    """A capture that could be read once and cannot be any more."""
    Capture.objects.filter(pk=outcome.pk).update(
        status=Status.ASKING if outcome.missing else Status.UNREADABLE,
        refusal=outcome.refusal[:LONGEST_REFUSAL],
        missing=outcome.missing,
    )


# What it means for the kits ----------------------------------------------
def _kits_judged_by_another_plan(captures: QuerySet[Capture]) -> set[str]:
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


def _judge_kits(
    codes: set[str], verdicts_before: dict[str, str], report: Rescored, actor: Actor
) -> None:
    """Judge kits anew, and note in the report those whose verdict is another now."""
    for kit in Kit.objects.filter(code__in=codes).order_by("code"):
        before = verdicts_before.get(kit.code, "")
        bench_round = conclude(kit, actor=actor)
        if bench_round is not None and bench_round.verdict != before:
            report.kits[kit.code] = (before, bench_round.verdict)
