"""The bench page: kits that wait for it, and the last drops."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, Max, Prefetch, Q, QuerySet

from readiness.models import BenchPlan, BenchTest, Upload
from readiness.rounds import since_of
from rentals.lifecycle import KitState, Verb
from rentals.models import Kit

RECENT = 8
DRIFTS = 20


def kits_to_bench() -> QuerySet[Kit]:
    """Kits at the bench, and kits assigned or on the shelf that are not cleared; each with what `bench_line` needs."""
    waiting = Q(state=KitState.BENCH) | Q(state__in=[KitState.ASSIGNED, KitState.SHELF], cleared=False)
    current = Prefetch("bench_tests", BenchTest.objects.filter(current=True), to_attr="current_rounds")
    fitted = Max("events__at", filter=Q(events__verb=Verb.FITTED))
    kits = Kit.objects.filter(waiting).select_related("kit_type__bench_plan").prefetch_related(current)
    # Assigned ones first: somebody waits for them.
    return kits.annotate(fitted_at=fitted).order_by("state", "code")


@dataclass(frozen=True)
class BenchLine:
    """What the bench has of a kit so far: the round, if one goes on, and the tests it lacks."""

    round: BenchTest | None
    required: tuple[str, ...]
    lacking: tuple[str, ...]


def bench_line(kit: Kit) -> BenchLine:
    """The line of a kit from ``kits_to_bench``, without a query."""
    plan = getattr(kit.kit_type, "bench_plan", None) or BenchPlan(kit_type=kit.kit_type)
    found = kit.current_rounds[0] if kit.current_rounds else None
    if found is not None and found.since != _since(kit):
        found = None
    done = found.tests if found else {}
    return BenchLine(found, plan.required, tuple(test for test in plan.required if test not in done))


def _since(kit: Kit) -> datetime | None:
    return since_of(kit.returned_at, kit.fitted_at).at


def recent_uploads() -> list[Upload]:
    """The last drops with the number of their captures and of those still in work."""
    busy = Count("captures", filter=Q(captures__status__in=["waiting", "scoring"]))
    return list(
        Upload.objects.select_related("by").annotate(files=Count("captures"), busy=busy).order_by("-at", "-pk")[:RECENT]
    )


def drifting_rounds() -> list[BenchTest]:
    """Rounds of now that warn of a part drifting towards its limit, at most one page of them."""
    return list(BenchTest.objects.filter(current=True).exclude(warnings=[]).select_related("kit")[:DRIFTS])
