"""Loans that went out, as the forecast of returns wants them."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.db.models import QuerySet
from django.utils import timezone

from rentals.lifecycle import Verb
from rentals.models import Event, Loan, Practice
from rentals.planning.bench_chance import BenchRecord
from rentals.planning.bench_record import BenchStep, count_first_rounds
from rentals.planning.lateness import PastLoan
from rentals.states import OPEN_STAGES, LoanStage

MOST_LOANS = 2_000
"""The newest loans that are read: more would tell nothing that they do not."""
BENCH_DAYS = 730
"""How far back the record of the bench reaches: two years of the same kits."""

_STEPS = {
    Verb.ARRIVED: BenchStep.BACK,
    Verb.SHORTFALL: BenchStep.WANTING,
    Verb.UNCLEARED: BenchStep.WANTING,
    Verb.HELD: BenchStep.WANTING,
    Verb.CLEARED: BenchStep.CLEARED,
}


def past_loans(practice: Practice) -> list[PastLoan]:
    """The newest loans that were handed over, those still out among them."""
    rows = Loan.objects.filter(dispatched_at__isnull=False).exclude(stage=LoanStage.CANCELLED)
    return [
        as_past_loan(loan, practice) for loan in with_places(rows).order_by("-due_on")[:MOST_LOANS]
    ]


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


def as_past_loan(loan: Loan, practice: Practice) -> PastLoan:
    """One loan as plain values."""
    lost = loan.arrived_at is None and loan.stage not in OPEN_STAGES
    ended = loan.closed_at if lost else loan.arrived_at
    country = str(loan.enrolment.student.country or "")
    return PastLoan(
        run=loan.enrolment.run_id,
        posted_on=loan.post_by,
        due_on=loan.due_on,
        ended_on=_day(ended),
        lost=lost,
        sent_back_on=loan.sent_back_on,
        abroad=bool(country) and country != str(practice.country or country),
    )


def _day(at: datetime | None) -> date | None:
    return timezone.localdate(at) if at else None


def fleet_record(now: datetime) -> BenchRecord:
    """How the kits that came back in the last two years went through check and bench."""
    events = (
        Event.objects.filter(verb__in=_STEPS, at__gte=now - timedelta(days=BENCH_DAYS))
        .filter(kit__isnull=False)
        .order_by("kit", "number")
        .values_list("kit", "verb")
    )
    return count_first_rounds((kit, _STEPS[Verb(verb)]) for kit, verb in events)
