"""The bench page: kits that wait for it, and the last drops."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, Max, Prefetch, Q, QuerySet

from readiness.judgement.rounds import since_of
from readiness.models import BenchPlan, BenchTest, Capture, Upload
from readiness.states import CaptureStatus
from rentals.lifecycle import Verb
from rentals.models import Event, Kit
from rentals.states import KitState

RECENT = 8
DRIFTS = 20
ASKING = 20


def kits_to_bench() -> QuerySet[Kit]:
    """Kits at the bench, and kits assigned or on the shelf that are not cleared, assigned ones
    first.
    """
    waiting = Q(state=KitState.BENCH) | Q(
        state__in=[KitState.ASSIGNED, KitState.SHELF], cleared=False
    )
    current = Prefetch(
        "bench_tests", BenchTest.objects.filter(current=True), to_attr="current_rounds"
    )
    kits = (
        Kit.objects.filter(waiting).select_related("kit_type__bench_plan").prefetch_related(current)
    )
    # By the word of the state, "assigned" comes first: somebody waits for these.
    return kits.order_by("state", "code")


@dataclass(frozen=True)
class BenchLine:
    """What the bench has of a kit so far: the round, if one goes on, and the tests it lacks."""

    round: BenchTest | None
    required: tuple[str, ...]
    lacking: tuple[str, ...]


def bench_lines(kits: Iterable[Kit]) -> list[tuple[Kit, BenchLine]]:
    """Kits from ``kits_to_bench``, each with its line, in one further query."""
    kits = list(kits)
    fitted = (
        Event.objects.filter(kit__in=kits, verb=Verb.FITTED)
        .order_by()
        .values_list("kit")
        .annotate(Max("at"))
    )
    fitted_at = dict(fitted)
    return [(kit, _line(kit, since_of(kit.returned_at, fitted_at.get(kit.pk)).at)) for kit in kits]


def _line(kit: Kit, since: datetime | None) -> BenchLine:
    plan = getattr(kit.kit_type, "bench_plan", None) or BenchPlan(kit_type=kit.kit_type)
    bench_round = kit.current_rounds[0] if kit.current_rounds else None
    if bench_round is not None and bench_round.since != since:
        bench_round = None
    tested = bench_round.tests if bench_round else {}
    lacking = tuple(test for test in plan.required if test not in tested)
    return BenchLine(bench_round, plan.required, lacking)


def uploads_listed() -> QuerySet[Upload]:
    """All drops, newest first, with the number of their captures and of those still in work."""
    busy = Count(
        "captures", filter=Q(captures__status__in=[CaptureStatus.WAITING, CaptureStatus.SCORING])
    )
    return (
        Upload.objects.select_related("by")
        .annotate(files=Count("captures"), busy=busy)
        .order_by("-at", "-pk")
    )


def recent_uploads() -> list[Upload]:
    """The last few drops."""
    return list(uploads_listed()[:RECENT])


def asking_captures() -> list[Capture]:
    """Files of any drop that still lack a fact, newest first, at most one page of them."""
    asking = Capture.objects.filter(status=Capture.Status.ASKING).select_related("upload")
    return list(asking.order_by("-upload__at", "name")[:ASKING])


def drifting_rounds() -> list[BenchTest]:
    """Rounds of now that warn of a part drifting towards its limit, at most one page of them."""
    return list(
        BenchTest.objects.filter(current=True).exclude(warnings=[]).select_related("kit")[:DRIFTS]
    )
