"""The bench page: kits that wait for it, and the last drops."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import BooleanField, Count, Max, Q, QuerySet
from django.db.models.expressions import RawSQL

from readiness.judgement.bench_day import BenchDay
from readiness.judgement.next_acts import day_act, waits_for
from readiness.judgement.rounds import since_of
from readiness.marks import bench_mark
from readiness.models import BenchPlan, BenchTest, Capture, Upload
from readiness.selectors.next_steps import NextStep, kit_step
from readiness.selectors.rounds import by_todays_clock
from readiness.states import CaptureStatus
from rentals.known_query import KnownQuery, KnownRows
from rentals.lifecycle import Verb
from rentals.marks import Mark, Sign, mark_of
from rentals.models import Event, Kit
from rentals.selectors.kits import kits_that_wait_for_bench
from rentals.states import KitState

RECENT = 8
DRIFTS = 20
ASKING = 20
KITS_SHOWN = 100
#: What a line tells of, and all that it reads: a round holds every test of it in full.
_OF_A_KIT = ("code", "state", "cleared", "not_cleared_reason", "returned_at", "kit_type")
_OF_A_ROUND = ("kit", "since", "tests", "verdict", "sentence", "not_cleared_because")


def kits_to_bench() -> QuerySet[Kit]:
    """Kits that wait for the bench, assigned ones first."""
    # By the word of the state, "assigned" comes first: somebody waits for these.
    return kits_that_wait_for_bench().order_by("state", "code")


def kits_of_drop(upload: Upload) -> list[BenchLine]:
    """What the bench says now of each kit that a drop held files of, those not cleared first."""
    held = Kit.objects.filter(pk__in=upload.captures.values("kit"))
    numbers = held.order_by("cleared", "code").values_list("pk", flat=True)[:KITS_SHOWN]
    return bench_lines(kits_of_lines(list(numbers)))


def _for_lines() -> QuerySet[Kit]:
    kits = Kit.objects.select_related("kit_type__bench_plan").order_by()
    return kits.only(*_OF_A_KIT, "kit_type__bench_plan__tests")


def _fitted() -> QuerySet[Event, Any]:
    return Event.objects.filter(verb=Verb.FITTED).order_by().values_list("kit").annotate(Max("at"))


#: Kits by their numbers with their test plans, for `bench_lines`.
kits_of_lines = KnownRows(_for_lines).of
_ROUNDS = KnownRows(
    lambda: BenchTest.objects.filter(current=True).only(*_OF_A_ROUND).order_by(), by="kit"
)
_FITTED = KnownRows(_fitted, by="kit")


@dataclass(frozen=True)
class DropLine:
    """A drop in a list: the codes of the kits it held, how many files, how many still in work."""

    upload: Upload
    kits: list[str]
    files: int
    busy: int


def drop_lines(uploads: Iterable[Upload]) -> list[DropLine]:
    """The lines of drops, in one further query."""
    uploads = list(uploads)
    by_upload: dict[int, list[tuple[str | None, int, int]]] = {}
    for upload, code, files, busy in _COUNTED.rows([upload.pk for upload in uploads]):
        by_upload.setdefault(upload, []).append((code, files, busy))
    return [_drop_line(upload, by_upload.get(upload.pk, [])) for upload in uploads]


def _counted() -> QuerySet[Capture, Any]:
    """By drop and kit how many files there are, and how many of them are in work."""
    in_work = Q(status__in=[CaptureStatus.WAITING, CaptureStatus.SCORING])
    by_kit = Capture.objects.order_by("kit__code").values_list("upload", "kit__code")
    return by_kit.annotate(files=Count("pk"), busy=Count("pk", filter=in_work))


_COUNTED = KnownRows(_counted, by="upload")


def _drop_line(upload: Upload, counted: list[tuple[str | None, int, int]]) -> DropLine:
    kits = [code for code, _, _ in counted if code is not None]
    files, busy = sum(files for _, files, _ in counted), sum(busy for *_, busy in counted)
    return DropLine(upload, kits, files, busy)


@dataclass(frozen=True)
class BenchLine:
    """A kit that waits for the bench: its mark, what it waits for, and why."""

    kit: Kit
    mark: Mark | None
    act: str
    why: str


def bench_lines(kits: Iterable[Kit]) -> list[BenchLine]:
    """The lines of kits from `kits_of_lines`, in two further queries."""
    kits = list(kits)
    numbers = [kit.pk for kit in kits]
    fitted_at = dict(_FITTED.rows(numbers))
    rounds = {current.kit_id: current for current in _ROUNDS.rows(numbers)}
    return [_line(kit, rounds.get(kit.pk), _since(kit, fitted_at.get(kit.pk))) for kit in kits]


def _since(kit: Kit, fitted_at: datetime | None) -> datetime | None:
    return by_todays_clock(kit, since_of(kit.returned_at, fitted_at)).at


def _line(kit: Kit, current: BenchTest | None, since: datetime | None) -> BenchLine:
    if current is not None and current.since != since:
        current = None
    if kit.cleared:
        return BenchLine(kit, mark_of(Sign.CLEARED), "See", current.sentence if current else "")
    if current is not None and current.verdict:
        why = current.not_cleared_because or current.sentence
        return BenchLine(kit, current.mark, waits_for(current.verdict), why)
    assigned = kit.state == KitState.ASSIGNED
    why = _to_record(kit, current) or kit.not_cleared_reason
    return BenchLine(kit, kit.mark if assigned else None, waits_for(""), why)


def _to_record(kit: Kit, current: BenchTest | None) -> str:
    """The tests that a round lacks, in a sentence; empty where it has them all."""
    plan = BenchPlan.preloaded(kit.kit_type)
    done = current.tests if current else {}
    lacking = [test for test in plan.required if test not in done]
    return f"To record: {', '.join(lacking)}." if lacking else ""


@dataclass(frozen=True)
class BenchDayLine:
    """The bench of today, judged by its check kit, and what is next with that."""

    mark: Mark
    sentence: str
    next: NextStep


def bench_day_line(day: BenchDay) -> BenchDayLine:
    """The line of a day, with what is next with the check kit."""
    step = kit_step(day.kit, day_act(day.state))
    return BenchDayLine(bench_mark(day.state), day.sentence, step)


def uploads_listed() -> QuerySet[Upload]:
    """All drops, newest first."""
    return Upload.objects.select_related("by").order_by("-at", "-pk")


def recent_uploads() -> list[DropLine]:
    """The last few drops."""
    return drop_lines(uploads_listed()[:RECENT])


def asking_captures() -> list[Capture]:
    """Files of any drop that still lack a fact, newest first, at most one page of them."""
    if not _ANY_ASKING.rows():
        return []
    asking = _asking().only("name", "refusal")
    return list(asking.order_by("-upload__at", "name")[:ASKING])


def drifting_rounds() -> list[BenchTest]:
    """Rounds of now that warn of a part drifting towards its limit, at most one page of them."""
    if not _ANY_DRIFTING.rows():
        return []
    return list(_drifting().select_related("kit").only("warnings", "kit__code")[:DRIFTS])


def _asking() -> QuerySet[Capture]:
    return Capture.objects.filter(status=Capture.Status.ASKING)


def _drifting() -> QuerySet[BenchTest]:
    return BenchTest.objects.filter(_WARNS, current=True)


#: Spelt out: SQLite sees that an index is of these rows only where no value is left to be told.
_WARNS = RawSQL("""NOT ("readiness_benchtest"."warnings" = '[]')""", [], BooleanField())


#: Mostly there is neither, and to look for all that is shown of them takes longer than to see that.
_ANY_ASKING = KnownQuery(lambda: _asking().order_by().values_list("pk")[:1])
#: In the order of that index, which SQLite does not take for a good one while it is empty.
_ANY_DRIFTING = KnownQuery(lambda: _drifting().order_by("-at", "-pk").values_list("pk")[:1])
