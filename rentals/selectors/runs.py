"""Course runs for lists and pages: who is on them, with which kit, and what is next."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Max, Prefetch, Q, QuerySet

from rentals.lifecycle import ALLOWED, Verb
from rentals.models import (
    OPEN_STAGES,
    CourseRun,
    Enrolment,
    Kit,
    Loan,
    LoanStage,
    RosterDraft,
    Student,
)
from rentals.planning.assignment import FreeKit, in_order

_LOANS = Prefetch(
    "loans",
    queryset=Loan.objects.exclude(stage=LoanStage.CANCELLED)
    .select_related("kit")
    .order_by("-assigned_at", "-pk"),
    to_attr="kept_loans",
)
_ON = Q(enrolments__withdrawn_on__isnull=True)
_OPEN = _ON & Q(enrolments__loans__stage__in=OPEN_STAGES)


def runs_listed(q: str = "") -> QuerySet[CourseRun]:
    """Runs that fit the filter, newest first, with how many students and how many of them have a
    kit.
    """
    runs = CourseRun.objects.select_related("kit_type").annotate(
        students=Count("enrolments", filter=_ON, distinct=True),
        with_kit=Count("enrolments", filter=_OPEN, distinct=True),
        away=Count("enrolments", filter=Q(enrolments__loans__stage=LoanStage.AWAY), distinct=True),
    )
    if q:
        runs = runs.filter(Q(name__icontains=q) | Q(kit_type__name__icontains=q))
    return runs.order_by("-starts_on", "name")


def run_phase(run: CourseRun, today: date) -> str:
    """State key of a run on a day: planned, running or over."""
    if today < run.starts_on:
        return "planned"
    return "running" if today <= run.ends_on else "over"


@dataclass(frozen=True)
class Holding:
    """One enrolment on a run's or a student's page: the loan that matters, its mark, and the next
    action.

    `route` is the name of the page that does the next action with `argument`; empty where nothing
    is to be done.
    """

    enrolment: Enrolment
    loan: Loan | None
    mark: str
    label: str = ""
    route: str = ""
    argument: str | int = ""
    act: str = ""


def enrolments_of(run: CourseRun, q: str = "") -> QuerySet[Enrolment]:
    """Enrolments of a run by name, withdrawn ones last, each with its loans as `kept_loans`, newest
    first.
    """
    enrolments = run.enrolments.select_related("student", "run").prefetch_related(_LOANS)
    if q:
        enrolments = enrolments.filter(
            Q(student__name__icontains=q)
            | Q(student__email__icontains=q)
            | Q(loans__kit__code__icontains=q.replace(" ", ""), loans__stage__in=OPEN_STAGES)
        ).distinct()
    return enrolments.order_by("withdrawn_on", "student__name", "pk")


def enrolments_of_student(student: Student) -> QuerySet[Enrolment]:
    """Enrolments of a student, newest run first, prepared like those of a run."""
    return (
        student.enrolments.select_related("student", "run")
        .prefetch_related(_LOANS)
        .order_by("-run__starts_on", "pk")
    )


def holding(enrolment: Enrolment, today: date) -> Holding:
    """What an enrolment with its `kept_loans` comes to."""
    loans: list[Loan] = vars(enrolment)["kept_loans"]
    loan = next((loan for loan in loans if loan.is_open), loans[0] if loans else None)
    if loan is None:
        if enrolment.withdrawn_on:
            return Holding(enrolment, None, "ended", "withdrawn")
        return Holding(
            enrolment, None, "unassigned", "", "rentals:run_assign", enrolment.run_id, "Assign"
        )
    code = loan.kit.code
    match LoanStage(loan.stage):
        case LoanStage.ASSIGNED:
            return Holding(enrolment, loan, "assigned", "", "rentals:pack_kit", code, "Pack")
        case LoanStage.PACKED:
            return Holding(enrolment, loan, "packed", "", "rentals:pack_kit", code, "Dispatch")
        case LoanStage.AWAY if loan.due_on < today:
            return Holding(enrolment, loan, "overdue", "", "rentals:loan", loan.pk, "Chase")
        case LoanStage.AWAY:
            return Holding(enrolment, loan, "away", "", "rentals:loan", loan.pk, "See loan")
        case LoanStage.CHECK:
            return Holding(enrolment, loan, "check", "", "rentals:receive_kit", code, "Check")
        case LoanStage.RETURNED:
            return Holding(enrolment, loan, "returned", "", "rentals:loan", loan.pk, "Settle")
        case LoanStage.LOST:
            return Holding(enrolment, loan, "kit.lost", "", "rentals:loan", loan.pk, "See loan")
        case _:
            return Holding(enrolment, loan, "settled", "", "rentals:loan", loan.pk, "See loan")


@dataclass(frozen=True)
class RunCounts:
    """How far a run has come, in students who are on it."""

    students: int
    without_kit: int
    to_pack: int
    to_dispatch: int
    away: int
    overdue: int
    to_check: int
    to_settle: int


def run_counts(run: CourseRun, today: date) -> RunCounts:
    """The counts that decide a run's next action, in one query; those away include the overdue."""
    on = Q(withdrawn_on__isnull=True)

    def stage(value: str) -> Count:
        return Count("pk", filter=Q(loans__stage=value), distinct=True)

    counts = run.enrolments.aggregate(
        students=Count("pk", filter=on, distinct=True),
        served=Count(
            "pk",
            filter=on & Q(loans__isnull=False) & ~Q(loans__stage=LoanStage.CANCELLED),
            distinct=True,
        ),
        to_pack=stage(LoanStage.ASSIGNED),
        to_dispatch=stage(LoanStage.PACKED),
        away=stage(LoanStage.AWAY),
        overdue=Count(
            "pk", filter=Q(loans__stage=LoanStage.AWAY, loans__due_on__lt=today), distinct=True
        ),
        to_check=stage(LoanStage.CHECK),
        to_settle=stage(LoanStage.RETURNED),
    )
    served = counts.pop("served")
    return RunCounts(without_kit=counts["students"] - served, **counts)


def waiting_draft(run: CourseRun) -> RosterDraft | None:
    """The roster of a run that was uploaded and not imported yet."""
    return run.roster_drafts.filter(imported_at__isnull=True).defer("content").first()


def enrolments_without_kit(run: CourseRun) -> QuerySet[Enrolment]:
    """Students who are on a run and never got a kit for it, by name."""
    served = (
        Loan.objects.filter(enrolment__run=run)
        .exclude(stage=LoanStage.CANCELLED)
        .values("enrolment")
    )
    return (
        run.enrolments.filter(withdrawn_on__isnull=True)
        .exclude(pk__in=served)
        .select_related("student", "run")
        .order_by("student__name", "pk")
    )


def free_kits(run: CourseRun) -> list[FreeKit]:
    """Kits of a run's type that may be assigned, in the order they are offered."""
    states = [state.value for state in ALLOWED[Verb.ASSIGNED]]
    kits = Kit.objects.filter(kit_type_id=run.kit_type_id, state__in=states).annotate(
        back=Max("loans__arrived_at")
    )
    return in_order(
        FreeKit(
            kit.code,
            kit.cleared,
            kit.returned_at or kit.back,
            "" if kit.cleared else kit.not_cleared_reason,
        )
        for kit in kits
    )
