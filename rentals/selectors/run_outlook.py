"""What holds for all coming runs on a day: where every kit is, and what the past says of lateness
and of the bench. The queries are as many for one run as for all.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import NamedTuple

from django.db.models import Count, Q, QuerySet
from django.utils import timezone

from rentals.models import OPEN_STAGES, CourseRun, Earmark, Kit, Loan, LoanStage, Practice
from rentals.planning.back_in_time import bench_only, last_day_back
from rentals.planning.bench_chance import BenchRecord
from rentals.planning.chance_words import bench_words, lateness_words
from rentals.planning.known_chances import known_lateness
from rentals.planning.lateness_law import LatenessLaw
from rentals.planning.workdays import Workdays
from rentals.selectors.past_loans import (
    OpenLoan,
    fleet_record,
    open_loans,
    past_loans,
    with_places,
)
from rentals.selectors.plan_days import turnaround_of
from rentals.selectors.to_mend import kits_to_mend
from rentals.selectors.unserved import unserved
from rentals.states import KitState

DRAWS, FEW_DRAWS = 400, 80
MANY_KITS = 200
"""Coming kits from which on fewer draws do: with so many, chances are hardly open."""


class StandingKit(NamedTuple):
    """What tells where a kit stands, and no more: there may be thousands."""

    kit_type: int
    pk: int
    code: str
    state: str
    cleared: bool
    override_reason: str

    @property
    def may_go_out(self) -> bool:
        """Whether it may leave by what the bench and the owner said of it."""
        return self.state != KitState.HELD and (self.cleared or self.override_reason != "")


@dataclass
class Outlook:
    """What holds for all runs on a day: where every kit is, and what the past says, which is learnt
    when first asked for. `coming` are the runs that take kits of these types.
    """

    today: date
    practice: Practice
    draws: int
    coming: list[CourseRun]
    kits: dict[int, list[StandingKit]]
    loans: dict[int, OpenLoan]
    """By the kit."""
    set_aside: dict[int, int]
    """Runs that kits are set aside for, by the kit."""

    @cached_property
    def rows(self) -> tuple[dict[str, Kit], dict[int, Loan]]:
        """The kits as they are shown, by their code, and their open loans by the kit."""
        kits = Kit.objects.filter(kit_type__in=self.kits).exclude(state=KitState.RETIRED)
        facts = ("state", "cleared", "override_reason", "not_cleared_reason", "hold_reason")
        loans = with_places(Loan.objects.filter(stage__in=OPEN_STAGES, kit__kit_type__in=self.kits))
        by_code = {kit.code: kit for kit in kits.only("kit_type_id", "code", *facts)}
        return by_code, {loan.kit_id: loan for loan in loans}

    @cached_property
    def lateness(self) -> LatenessLaw:
        """What past loans say of how late kits come back."""
        loans = tuple(past_loans(self.practice, self.today))
        return known_lateness(loans, self.today, self.draws)

    @cached_property
    def bench(self) -> BenchRecord:
        """How kits went through check and bench."""
        return fleet_record(timezone.now())

    @cached_property
    def to_mend(self) -> dict[str, str]:
        """Kits that are to be mended first, by their code, with what is to be done."""
        return kits_to_mend(self.kits)

    @cached_property
    def ready_kits(self) -> dict[int, Counter[tuple[int | None, int | None]]]:
        """How many kits may go out as they are, by their type, by the run that they are set aside
        for and the only run that they may go to, where there is one.
        """
        found: dict[int, Counter[tuple[int | None, int | None]]] = defaultdict(Counter)
        for kit_type, kits in self.kits.items():
            for kit in kits:
                loan = self.loans.get(kit.pk)
                away = loan is not None and loan.stage == LoanStage.AWAY
                if kit.may_go_out and not away:
                    bound = loan is not None and loan.stage != LoanStage.CHECK
                    only = loan.run if loan and bound else None
                    found[kit_type][self.set_aside.get(kit.pk), only] += 1
        return found

    @property
    def basis(self) -> list[str]:
        """From what the chances speak, in sentences."""
        return [lateness_words(self.lateness), bench_words(self.bench)]

    def last_days_back(self, day: date) -> tuple[date | None, date | None]:
        """The last day on which a kit may come back, and be checked, to be ready on a day; None
        for one that is past.
        """
        workdays = Workdays(str(self.practice.country or ""))
        turnaround = turnaround_of(self.practice)
        last = (
            last_day_back(day, turnaround, workdays),
            last_day_back(day, bench_only(turnaround), workdays),
        )
        back, checked = (by if by >= self.today else None for by in last)
        return back, checked


def coming_runs(today: date) -> QuerySet[CourseRun]:
    """Runs that are not over and have students whose kit has not left, counted as `waiting`; of
    these `without_kit` have none yet. The first to be posted comes first.
    """
    here = (LoanStage.ASSIGNED, LoanStage.PACKED)
    parcel_here = Q(enrolments__loans__stage__in=here, enrolments__withdrawn_on__isnull=True)
    none = unserved("enrolments__")
    runs = CourseRun.objects.filter(ends_on__gte=today).annotate(
        waiting=Count("enrolments", filter=none | parcel_here, distinct=True),
        without_kit=Count("enrolments", filter=none, distinct=True),
    )
    return runs.filter(waiting__gt=0).select_related("kit_type").order_by("post_by", "pk")


def outlook(today: date, runs: Iterable[CourseRun], draws: int = DRAWS) -> Outlook:
    """See where the kits of these runs' types are."""
    types = {run.kit_type_id for run in runs}
    coming = list(coming_runs(today).filter(kit_type__in=types))
    return outlook_of(today, Practice.current(), coming, types, draws)


def outlook_of(
    today: date, practice: Practice, coming: list[CourseRun], types: set[int], draws: int
) -> Outlook:
    """The same where the practice and the coming runs of these types are known."""
    kits: dict[int, list[StandingKit]] = defaultdict(list)
    standing = Kit.objects.filter(kit_type__in=types).exclude(state=KitState.RETIRED)
    for row in standing.order_by("code").values_list(*StandingKit._fields):
        kit = StandingKit(*row)
        kits[kit.kit_type].append(kit)
    count = sum(map(len, kits.values()))
    loans = open_loans(Loan.objects.filter(kit__kit_type__in=types), practice)
    set_aside = dict(
        Earmark.objects.filter(kit__kit_type__in=types).values_list("kit", "enrolment__run")
    )
    draws = FEW_DRAWS if count > MANY_KITS else draws
    return Outlook(today, practice, draws, coming, kits, loans, set_aside)
