"""Returned kits that the bench refused, or asked to test again, before they went out once more:
which, why, and what followed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery, Value
from django.db.models.functions import Coalesce, TruncDate
from django.utils import timezone

from readiness.models import Capture, Verdict
from readiness.signal.bench_tests.findings import FINDING_KINDS
from readiness.states import CaptureStatus, VerdictWord
from rentals.dates import short_date
from rentals.lifecycle import Verb
from rentals.models import CourseRun, Event, Loan, LoanStage, PartKind
from rentals.reports.scope import ReportScope
from rentals.selectors.reports.scopes import within
from rentals.states import PartPlace

AGAINST = (VerdictWord.NOT_FIT, VerdictWord.RETEST)
_AT_THE_BENCH = {
    "kit": OuterRef("kit"),
    "taken__gte": OuterRef("arrived_at"),
    "taken__lt": OuterRef("until"),
    "status": CaptureStatus.SCORED,
    "set_aside": "",
}
_FOLLOWING = Q(verb__in=(Verb.FITTED, Verb.CLEARED, Verb.RETIRED)) | Q(
    # A part goes many ways; its event says in words which one it took.
    verb=Verb.REMOVED,
    text__contains=PartPlace.REPAIR.label,
)


def _returns(scope: ReportScope) -> QuerySet[Loan]:
    """Loans whose kit came back, each with the moment until which the bench had the kit."""
    back = Loan.objects.filter(within("arrived_at", scope), arrived_at__isnull=False)
    if scope.run is not None:
        back = back.filter(enrolment__run=scope.run)
    again = Loan.objects.filter(kit=OuterRef("kit"), dispatched_at__gt=OuterRef("arrived_at"))
    left_at = Subquery(again.order_by("dispatched_at").values("dispatched_at")[:1])
    return back.order_by().annotate(until=Coalesce(left_at, Value(timezone.now())))


def returns_tested(scope: ReportScope) -> QuerySet[Loan]:
    """Loans whose kit came back and was tested before it went out again."""
    return _returns(scope).filter(Exists(Capture.objects.filter(**_AT_THE_BENCH)))


def _captures_with(*verdicts: str) -> QuerySet[Capture]:
    """Captures of a returned kit whose verdict is one of these."""
    current = Verdict.objects.filter(capture=OuterRef("pk"), current=True, verdict__in=verdicts)
    return Capture.objects.filter(Exists(current), **_AT_THE_BENCH)


def caught_returns(scope: ReportScope) -> QuerySet[Loan]:
    """Those that the bench caught, the last first: with the day (`caught_on`), whether it refused
    the kit (`refused`), and the day of the kit's next parcel (`next_parcel`).
    """
    first = _captures_with(*AGAINST).order_by("taken").values("taken")[:1]
    loans = _returns(scope).annotate(
        caught_at=Subquery(first),
        caught_on=TruncDate("caught_at"),
        refused=Exists(_captures_with(VerdictWord.NOT_FIT)),
    )
    loans = loans.filter(caught_at__isnull=False)
    return loans.annotate(next_parcel=_next_parcel()).order_by("-caught_at", "-pk")


def _next_parcel() -> Coalesce:
    """The day of the kit's next loan, else of the next run that takes kits of its type."""
    ahead = {"post_by__gte": OuterRef("caught_on")}
    own = Loan.objects.filter(kit=OuterRef("kit"), **ahead).exclude(pk=OuterRef("pk"))
    own = own.exclude(stage=LoanStage.CANCELLED)
    runs = CourseRun.objects.filter(kit_type=OuterRef("kit__kit_type"), **ahead)
    own_day = Subquery(own.order_by("post_by").values("post_by")[:1])
    return Coalesce(own_day, Subquery(runs.order_by("post_by").values("post_by")[:1]))


@dataclass(frozen=True)
class CaughtReturn:
    """One caught return: what was found, and what was done with the kit since."""

    loan: Loan
    caught_on: date
    refused: bool
    next_parcel: date | None
    findings: Sequence[str]
    followed: Sequence[str]

    @property
    def days(self) -> int | None:
        """Days from the catch to the next parcel; None where none is planned."""
        return (self.next_parcel - self.caught_on).days if self.next_parcel else None


def caught_in_full(loans: Sequence[Loan]) -> list[CaughtReturn]:
    """Some of `caught_returns` with all that is said of them; two queries."""
    findings, followed = _findings_of(loans), _followed(loans)
    return [_in_full(loan, findings[loan.pk], followed[loan.pk]) for loan in loans]


def _in_full(loan: Loan, findings: Sequence[str], followed: Sequence[str]) -> CaughtReturn:
    facts: dict[str, Any] = vars(loan)
    return CaughtReturn(
        loan, facts["caught_on"], facts["refused"], facts["next_parcel"], findings, followed
    )


_Fact = tuple[int, datetime, Any]


def _findings_of(loans: Sequence[Loan]) -> dict[int, list[str]]:
    """Titles of the findings against each return's kit, each once."""
    verdicts = Verdict.objects.filter(
        current=True,
        verdict__in=AGAINST,
        capture__set_aside="",
        capture__kit__in=[loan.kit_id for loan in loans],
    )
    rows = verdicts.order_by("capture__taken", "pk")
    facts = rows.values_list("capture__kit", "capture__taken", "result__findings")
    return _of_each(loans, facts, "arrived_at", _titles)


def _titles(findings: Iterable[dict[str, Any]]) -> list[str]:
    against = [found for found in findings if found["verdict"] in AGAINST]
    return [" ".join(filter(None, (_title(found["code"]), found["lead"]))) for found in against]


def _title(code: str) -> str:
    """The title of a finding; its code where an older method had it."""
    return FINDING_KINDS[code].title if code in FINDING_KINDS else code


def _followed(loans: Sequence[Loan]) -> dict[int, list[str]]:
    """What was done with each kit after it was caught."""
    events = Event.objects.filter(_FOLLOWING, kit__in=[loan.kit_id for loan in loans])
    rows = events.order_by("pk").values_list("kit", "at", "verb", "part__kind")
    facts = [(kit, at, (at, verb, kind)) for kit, at, verb, kind in rows]
    return _of_each(loans, facts, "caught_at", lambda fact: [_done(*fact)])


def _done(at: datetime, verb: str, kind: str | None) -> str:
    day = short_date(timezone.localdate(at))
    part = PartKind(kind).label.lower() if kind else "part"
    said = {
        Verb.REMOVED: f"{part} sent to repair on {day}",
        Verb.FITTED: f"{part} replaced on {day}",
        Verb.CLEARED: f"cleared on {day}",
    }
    return said.get(Verb(verb), f"out of use since {day}")


def _of_each(
    loans: Iterable[Loan],
    facts: Iterable[_Fact],
    since: str,
    words: Callable[[Any], Iterable[str]],
) -> dict[int, list[str]]:
    """The words of facts that lie between a return's moment `since` and the kit's next parcel, each
    once, by loan.
    """
    by_kit: dict[int, list[tuple[datetime, Any]]] = {}
    for kit, at, fact in facts:
        by_kit.setdefault(kit, []).append((at, fact))
    found = {}
    for loan in loans:
        words_of_loan = _words_between(by_kit.get(loan.kit_id, []), loan, since, words)
        found[loan.pk] = list(dict.fromkeys(words_of_loan))
    return found


def _words_between(
    facts: Iterable[tuple[datetime, Any]],
    loan: Loan,
    since: str,
    words: Callable[[Any], Iterable[str]],
) -> Iterable[str]:
    start, end = vars(loan)[since], vars(loan)["until"]
    return (said for at, fact in facts if start <= at < end for said in words(fact))
