"""Loans that went out, as the forecast of returns wants them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from datetime import date, datetime, timedelta
from typing import Any, NamedTuple

from django.db.models import QuerySet
from django.utils import timezone

from rentals.lifecycle import Verb
from rentals.models import Event, Loan, Practice
from rentals.planning.bench_chance import BenchRecord
from rentals.planning.bench_record import BenchStep, count_first_rounds
from rentals.planning.lateness import PastLoan
from rentals.selectors.kept_facts import KeptFacts
from rentals.states import OPEN_STAGES, LoanStage

MOST_LOANS = 2_000
"""The newest loans that are read: more would tell nothing that they do not."""
_SPARE = 500
"""Kept beyond these, so that they are there when newer ones move away in the course of a day."""
_NEWEST = ("-due_on", "pk")
BENCH_DAYS = 730
"""How far back the record of the bench reaches: two years of the same kits."""
MOST_STEPS = 4_000
"""The newest steps that are read: from about a thousand rounds a share is known to one percent."""

# In the order in which `_past_loan` takes them: rows of a thousand loans as objects would take a
# page three times as long.
_FACTS = (
    "enrolment__run",
    "stage",
    "post_by",
    "due_on",
    "arrived_at",
    "closed_at",
    "sent_back_on",
    "enrolment__student__country",
)
_STEPS = {
    Verb.ARRIVED: BenchStep.BACK,
    Verb.SHORTFALL: BenchStep.WANTING,
    Verb.UNCLEARED: BenchStep.WANTING,
    Verb.HELD: BenchStep.WANTING,
    Verb.CLEARED: BenchStep.CLEARED,
}


_kept: KeptFacts[PastLoan] = KeptFacts()


def past_loans(practice: Practice, today: date) -> list[PastLoan]:
    """The newest loans that were handed over, those still out among them. Where their students
    live counts as it was when they were first asked for on a day.
    """
    rows = Loan.objects.filter(dispatched_at__isnull=False).exclude(stage=LoanStage.CANCELLED)

    def find(loans: Collection[int] | None) -> dict[int, PastLoan]:
        wanted = rows if loans is None else rows.filter(pk__in=loans)
        facts = wanted.order_by(*_NEWEST).values_list("pk", *_FACTS)[: MOST_LOANS + _SPARE]
        return {loan: _past_loan(practice, *row) for loan, *row in facts}

    key = today, str(practice.country or "")
    found = _kept.read(key, find, lambda since, _: since.loans)
    in_order = sorted(found.items(), key=lambda pair: (-pair[1].due_on.toordinal(), pair[0]))
    return [loan for _, loan in in_order[:MOST_LOANS]]


def with_places(loans: QuerySet[Loan]) -> QuerySet[Loan]:
    """Loans with their run and the student's country, nothing else of them."""
    return loans.select_related("enrolment__student").only(
        "stage",
        "kit_id",
        "post_by",
        "due_on",
        "arrived_at",
        "closed_at",
        "sent_back_on",
        "return_tracking_number",
        "enrolment__run_id",
        "enrolment__student__country",
        "enrolment__student__name",
    )


class OpenLoan(NamedTuple):
    """A loan that is not over, with what the forecast of its return wants."""

    run: int
    stage: str
    past: PastLoan


def open_loans(loans: QuerySet[Loan], practice: Practice) -> dict[int, OpenLoan]:
    """Those of these loans that are not over, by their kit. Loans of which all is the same are
    turned into plain values once.
    """
    known: dict[tuple[Any, ...], OpenLoan] = {}
    found = {}
    rows = loans.filter(stage__in=OPEN_STAGES).order_by().values_list("kit", *_FACTS)
    for kit, *facts in rows:
        key = tuple(facts)
        if key not in known:
            past = _past_loan(practice, *facts)
            known[key] = OpenLoan(past.run, facts[1], past)
        found[kit] = known[key]
    return found


def _past_loan(
    practice: Practice,
    run: int,
    stage: str,
    post_by: date,
    due_on: date,
    arrived_at: datetime | None,
    closed_at: datetime | None,
    sent_back_on: date | None,
    country: str,
) -> PastLoan:
    lost = arrived_at is None and stage not in OPEN_STAGES
    return PastLoan(
        run=run,
        posted_on=post_by,
        due_on=due_on,
        ended_on=_day(closed_at if lost else arrived_at),
        lost=lost,
        sent_back_on=sent_back_on,
        abroad=bool(country) and country != str(practice.country or country),
    )


def _day(at: datetime | None) -> date | None:
    return timezone.localdate(at) if at else None


class _Step(NamedTuple):
    """One event that tells how a kit goes through check and bench."""

    event: int
    kit: int
    number: int
    verb: str
    at: datetime


_steps_kept: KeptFacts[list[_Step]] = KeptFacts()


def fleet_record(now: datetime) -> BenchRecord:
    """How the kits that came back in the last two years went through check and bench. A round of
    which only the end is among the newest steps is not counted.
    """
    since = now - timedelta(days=BENCH_DAYS)
    events = Event.objects.filter(verb__in=_STEPS, at__gte=since, kit__isnull=False)

    def find(kits: Collection[int] | None) -> dict[int, list[_Step]]:
        wanted = events if kits is None else events.filter(kit__in=kits)
        found: dict[int, list[_Step]] = defaultdict(list)
        rows = wanted.order_by("-pk").values_list("pk", "kit", "number", "verb", "at")
        for row in rows[:MOST_STEPS]:
            step = _Step(*row)
            found[step.kit].append(step)
        return found

    by_kit = _steps_kept.read(timezone.localdate(now), find, lambda since, _: since.kits)
    steps = (step for of_kit in by_kit.values() for step in of_kit if step.at >= since)
    newest = sorted(steps, reverse=True)[:MOST_STEPS]
    newest.sort(key=lambda step: (step.kit, step.number))
    return count_first_rounds((step.kit, _STEPS[Verb(step.verb)]) for step in newest)
