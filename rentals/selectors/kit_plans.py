"""Kits of the plan: which fit the filter, and each one's stays, clashes and ways on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Prefetch, Q, QuerySet
from django.utils.timezone import localdate

from rentals.addresses import page_address
from rentals.codes import grouped
from rentals.lifecycle import Verb, may
from rentals.marks import Mark, Sign, mark_of
from rentals.models import OPEN_STAGES, Earmark, Enrolment, Kit, Loan
from rentals.next_acts import may_unassign
from rentals.planning.calendar import ENTERED, PlannedDay
from rentals.planning.day_rules import DayRules
from rentals.planning.kit_plan import ClashKind, Hold, KitPlan, Lending, Stay, kit_plan
from rentals.planning.plan_chart import DrawnKit
from rentals.planning.plan_window import PlanWindow
from rentals.selectors.overdue import overdue_on
from rentals.selectors.plan_days import loan_days
from rentals.selectors.search import kits_by_code, students_numbers, together
from rentals.selectors.unserved import unserved
from rentals.states import KitState, LoanStage

#: How long before the window a kit may have come back and still be turned around in it.
LONGEST_TURNAROUND = timedelta(days=120)
#: Students offered for one kit; a run of more has its own page for assigning.
MOST_OFFERED = 200
OVERDUE, TAKEN, FREE = "overdue", "taken", "free"
PLAN_FILTERS = [
    ("", "all in use"),
    (TAKEN, "taken in these weeks"),
    (FREE, "not taken in these weeks"),
    (OVERDUE, "overdue"),
]
_HOLDS = {
    LoanStage.ASSIGNED: Hold.AGREED,
    LoanStage.PACKED: Hold.AGREED,
    LoanStage.AWAY: Hold.AWAY,
    LoanStage.CHECK: Hold.BACK,
    LoanStage.RETURNED: Hold.BACK,
    LoanStage.SETTLED: Hold.OVER,
    LoanStage.LOST: Hold.OVER,
}

_SIGNS = {
    ClashKind.OVERDUE: Sign.OVERDUE,
    ClashKind.POST_LATE: Sign.LATE,
    ClashKind.OVERLAP: Sign.CAUTION,
}


@dataclass(frozen=True)
class PlanFilter:
    """What the plan is narrowed to; empty and None leave all."""

    words: str = ""
    kit_type: int | None = None
    run: int | None = None
    show: str = ""


@dataclass(frozen=True)
class PlanRow:
    """A kit on the plan's page; `stays` are those of its plan that lie in the weeks. `lend_url` and
    `swap_url` lead to the forms that lend it, and that give its student another kit; empty where
    that may not be done.
    """

    kit: Kit
    plan: KitPlan
    stays: tuple[Stay, ...]
    lend_url: str
    swap_url: str

    @property
    def clashes(self) -> list[tuple[Mark, str]]:
        """What clashes: as a mark, and as a sentence."""
        return [
            (mark_of(_SIGNS[clash.kind], clash.short), clash.words) for clash in self.plan.clashes
        ]

    @property
    def drawn(self) -> DrawnKit:
        """Its row in the drawing."""
        return DrawnKit(self.plan, grouped(self.kit.code), self.kit.get_absolute_url())


def kits_in_use() -> QuerySet[Kit]:
    """All kits that can be planned with."""
    return Kit.objects.exclude(state=KitState.RETIRED)


def kits_planned(wanted: PlanFilter, window: PlanWindow, today: date) -> QuerySet[Kit]:
    """Kits in use that fit the filter, by code, each with its loans in the window as
    `planned_loans`, and what is set aside in it as `planned_earmarks`.
    """
    kits = kits_in_use().select_related("kit_type")
    if wanted.kit_type is not None:
        kits = kits.filter(kit_type=wanted.kit_type)
    if wanted.run is not None:
        of_run = Loan.objects.filter(enrolment__run=wanted.run).exclude(stage=LoanStage.CANCELLED)
        aside = _set_aside().filter(enrolment__run=wanted.run)
        kits = kits.filter(Q(pk__in=of_run.values("kit")) | Q(pk__in=aside.values("kit")))
    if wanted.show == OVERDUE:
        kits = kits.filter(pk__in=Loan.objects.filter(overdue_on(today)).values("kit"))
    elif wanted.show in (TAKEN, FREE):
        taken = Q(pk__in=_taken_in(window).values("kit"))
        taken |= Q(pk__in=_set_aside_in(window).values("kit"))
        kits = kits.filter(taken if wanted.show == TAKEN else ~taken)
    if wanted.words:
        kits = kits.filter(_named(wanted.words))
    return kits.order_by("code").prefetch_related(_loans_in(window), _earmarks_in(window))


def _named(words: str) -> Q:
    """Kits of a code, or with a student of a name."""
    named = students_numbers(words)
    lent = Kit.objects.filter(
        loans__in=Loan.objects.filter(stage__in=OPEN_STAGES, enrolment__student__in=named)
    )
    aside = Kit.objects.filter(earmarks__in=_set_aside().filter(enrolment__student__in=named))
    return Q(pk__in=together(kits_by_code(words), lent, aside))


def _set_aside() -> QuerySet[Earmark]:
    """What is set aside for students who are on their run and have no kit yet."""
    return Earmark.objects.filter(unserved("enrolment__"))


def _set_aside_in(window: PlanWindow) -> QuerySet[Earmark]:
    return _set_aside().filter(
        enrolment__run__post_by__lt=window.end, enrolment__run__return_by__gt=window.start
    )


def _taken_in(window: PlanWindow) -> QuerySet[Loan]:
    """Open loans of which a day lies in the window; one that is away has not ended yet."""
    loans = Loan.objects.filter(stage__in=OPEN_STAGES, post_by__lt=window.end)
    return loans.filter(Q(due_on__gt=window.start) | Q(stage=LoanStage.AWAY))


def _loans_in(window: PlanWindow) -> Prefetch[str]:
    since = window.start - LONGEST_TURNAROUND
    loans = Loan.objects.exclude(stage=LoanStage.CANCELLED).filter(
        Q(stage__in=OPEN_STAGES) | Q(arrived_at__date__gte=since) | Q(closed_at__date__gte=since),
        Q(post_by__lt=window.end) | Q(dispatched_at__date__lt=window.end),
    )
    loans = loans.select_related("enrolment__student", "enrolment__run")
    return Prefetch("loans", queryset=loans.order_by("post_by", "pk"), to_attr="planned_loans")


def _earmarks_in(window: PlanWindow) -> Prefetch[str]:
    rows = _set_aside_in(window).select_related("enrolment__student", "enrolment__run")
    return Prefetch("earmarks", queryset=rows.order_by("pk"), to_attr="planned_earmarks")


def plan_rows(
    kits: Iterable[Kit], window: PlanWindow, rules: DayRules, today: date
) -> list[PlanRow]:
    """The rows of kits with their `planned_loans` and `planned_earmarks`."""
    return [_row(kit, window, rules, today) for kit in kits]


def _row(kit: Kit, window: PlanWindow, rules: DayRules, today: date) -> PlanRow:
    loans: list[Loan] = vars(kit)["planned_loans"]
    lendings = [_lending(kit, loan, loans[place + 1 :]) for place, loan in enumerate(loans)]
    earmarks: list[Earmark] = vars(kit)["planned_earmarks"]
    lendings += [_set_aside_for(earmark, rules) for earmark in earmarks]
    lent = next((loan for loan in loans if loan.is_open), None)
    swap = page_address("rentals:plan_swap", lent.pk) if lent and _may_swap(lent) else ""
    free = lent is None and may(Verb.ASSIGNED, KitState(kit.state))
    lend = page_address("rentals:plan_lend", kit.code) if free else ""
    plan = kit_plan(kit.code, lendings, rules, today)
    stays = tuple(stay for stay in plan.stays if window.meets(stay.start, stay.end))
    return PlanRow(kit, plan, stays, lend, swap)


def _may_swap(loan: Loan) -> bool:
    return may_unassign(LoanStage(loan.stage))


def _lending(kit: Kit, loan: Loan, later: list[Loan]) -> Lending:
    ended = loan.arrived_at or loan.closed_at
    back_on = localdate(ended) if ended else None
    went_again = any(next_loan.packed_at for next_loan in later)
    lost = loan.stage == LoanStage.LOST
    return Lending(
        who=loan.enrolment.student.name,
        run=loan.enrolment.run.name,
        address=loan.get_absolute_url(),
        hold=_HOLDS[LoanStage(loan.stage)],
        posted=_posted(loan),
        due=PlannedDay(loan.due_on, loan.due_on_rule or ENTERED),
        back_on=back_on,
        ready=back_on is not None and (kit.cleared or went_again or lost),
    )


def _set_aside_for(earmark: Earmark, rules: DayRules) -> Lending:
    """An earmark on the days that its loan will have; it opens the page that makes it a loan."""
    student, run = earmark.enrolment.student, earmark.enrolment.run
    days = loan_days(run, str(student.country or ""), rules)
    return Lending(
        who=student.name,
        run=run.name,
        address=page_address("rentals:run_assign", run.pk),
        hold=Hold.SET_ASIDE,
        posted=PlannedDay(days.post.day, days.post.rule or ENTERED),
        due=PlannedDay(days.due.day, days.due.rule or ENTERED),
    )


def _posted(loan: Loan) -> PlannedDay:
    if loan.dispatched_at:
        return PlannedDay(localdate(loan.dispatched_at), "the day it was dispatched")
    return PlannedDay(loan.post_by, loan.post_by_rule or ENTERED)


def waiting_for(kit: Kit, today: date) -> list[tuple[int, str]]:
    """Students without a kit on runs of a kit's type that are not over, the first to be posted
    first: the enrolment's number, and who and what run it is.
    """
    waiting = Enrolment.objects.filter(
        unserved(), run__kit_type=kit.kit_type_id, run__ends_on__gte=today
    )
    waiting = waiting.select_related("student", "run").order_by("run__post_by", "student__name")
    return [(row.pk, str(row)) for row in waiting[:MOST_OFFERED]]
