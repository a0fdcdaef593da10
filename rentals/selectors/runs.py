"""Course runs for lists and pages: who is on them, with which kit, and what is next."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import (
    Case,
    Count,
    F,
    Max,
    OuterRef,
    Prefetch,
    Q,
    QuerySet,
    Subquery,
    Value,
    When,
    prefetch_related_objects,
)
from django.db.models.functions import Coalesce

from rentals.codes import grouped
from rentals.due_dates import due_words, is_overdue
from rentals.known_query import KnownRows
from rentals.lifecycle import ALLOWED, Verb
from rentals.marks import Mark, Sign, mark_of
from rentals.models import (
    OPEN_STAGES,
    CourseRun,
    Enrolment,
    Kit,
    KitType,
    Loan,
    LoanStage,
    Part,
    RosterDraft,
    Student,
)
from rentals.next_acts import RunSituation, enrolment_act, run_act
from rentals.planning.free_kits import FreeKit, in_order
from rentals.selectors.contents import lacking_in, uncleared
from rentals.selectors.earmarks import kit_set_aside, set_aside_for
from rentals.selectors.next_steps import Button, button, loan_button
from rentals.selectors.overdue import overdue_on
from rentals.selectors.search import (
    kit_types_named,
    kits_by_code,
    runs_found,
    students_numbers,
    together,
)
from rentals.selectors.unserved import unserved, with_one_here, with_set_aside
from rentals.states import KitState

#: What the line of an enrolment tells of its loan, and all that it reads.
_OF_A_LOAN = (
    *("enrolment", "stage", "due_on", "override_reason"),
    *("sent_back_on", "return_tracking_number"),
    *("kit__code", "kit__state", "kit__cleared"),
)


def _loans_that_matter() -> QuerySet[Loan]:
    loans = Loan.objects.exclude(stage=LoanStage.CANCELLED).select_related("kit")
    return loans.only(*_OF_A_LOAN).order_by("-assigned_at", "-pk")


_LOANS = Prefetch("loans", queryset=_loans_that_matter(), to_attr="kept_loans")
#: A fleet may have thousands of parts: only what the gate asks for is read.
_FITTED = Prefetch(
    "parts", queryset=Part.objects.only("kit_id", "kind", "code", "damaged", "damage_note")
)


def runs_listed(q: str = "") -> QuerySet[CourseRun]:
    """Runs that fit the filter, newest first."""
    runs = CourseRun.objects.all()
    if q:
        of_type = CourseRun.objects.filter(kit_type__in=kit_types_named(q))
        runs = runs.filter(pk__in=together(runs_found(q), of_type))
    return runs.order_by("-starts_on", "name")


def with_sort_facts_of_runs(
    runs: QuerySet[CourseRun], fields: Iterable[str]
) -> QuerySet[CourseRun]:
    """Runs with how many `students` are on them, where they are sorted by that."""
    if "students" not in fields:
        return runs
    on = Enrolment.objects.filter(run=OuterRef("pk"), withdrawn_on__isnull=True)
    of_run = on.order_by().values("run").annotate(number=Count("pk"))
    return runs.annotate(students=Coalesce(Subquery(of_run.values("number")), 0))


#: Runs by their numbers, with no more of each than the lines of the list read.
runs_of_rows = KnownRows(
    lambda: CourseRun.objects.only(
        "name", "starts_on", "ends_on", "post_by", "return_by"
    ).order_by()
).of


def run_phase(run: CourseRun, today: date) -> Sign:
    """What a day makes of a run: planned, running or over."""
    if today < run.starts_on:
        return Sign.PLANNED
    return Sign.RUNNING if today <= run.ends_on else Sign.OVER


@dataclass(frozen=True)
class Holding:
    """One enrolment on a run's or a student's page: the loan that matters, its mark, and the next
    act.

    `against` marks what stands against the kit, `left` that the student withdrew while having it;
    `due` says in words when a kit that is away is due back.
    """

    enrolment: Enrolment
    loan: Loan | None
    mark: Mark
    next: Button | None = None
    against: Mark | None = None
    left: Mark | None = None
    due: str = ""

    @property
    def marks(self) -> tuple[Mark, ...]:
        """All that are shown, in their order."""
        return tuple(mark for mark in (self.mark, self.against, self.left) if mark)


def enrolments_of(run: CourseRun) -> QuerySet[Enrolment]:
    """Enrolments of a run by name, withdrawn ones last, each with its loans as `kept_loans`, newest
    first, and with the code of the kit that is `set_aside`.
    """
    enrolments = enrolments_listed(run).select_related("student", "run")
    return enrolments.prefetch_related(_LOANS).annotate(set_aside=kit_set_aside())


def enrolments_listed(run: CourseRun, q: str = "") -> QuerySet[Enrolment]:
    """Enrolments of a run by name, withdrawn ones last, that fit the filter."""
    enrolments = run.enrolments.all()
    if q:
        named = Enrolment.objects.filter(student__in=students_numbers(q))
        held = Loan.objects.filter(kit__in=kits_by_code(q), stage__in=OPEN_STAGES)
        holding = Enrolment.objects.filter(loans__in=held)
        enrolments = enrolments.filter(pk__in=together(named, holding))
    # Each kind of database has its own way with what is empty.
    withdrawn_last = F("withdrawn_on").asc(nulls_first=True)
    return enrolments.order_by(withdrawn_last, "student__name", "pk")


def _with_people() -> QuerySet[Enrolment]:
    enrolments = Enrolment.objects.select_related("student", "run").order_by()
    shown = enrolments.only("withdrawn_on", "student__name", "run__name")
    return shown.annotate(set_aside=kit_set_aside())


_SHOWN = KnownRows(_with_people)
_LOANS_OF = KnownRows(_loans_that_matter, by="enrolment")


def enrolments_of_rows(numbers: list[int]) -> list[Enrolment]:
    """Enrolments by their numbers for `holding` and the lines of a run, prepared like those of a
    run.
    """
    enrolments = _SHOWN.of(numbers)
    loans: dict[int, list[Loan]] = {enrolment.pk: [] for enrolment in enrolments}
    for loan in _LOANS_OF.rows(list(loans)):
        loans[loan.enrolment_id].append(loan)
    for enrolment in enrolments:
        vars(enrolment)["kept_loans"] = loans[enrolment.pk]
    return enrolments


def with_sort_facts_of_run(
    enrolments: QuerySet[Enrolment], fields: Iterable[str]
) -> QuerySet[Enrolment]:
    """Enrolments with those of these facts that a run's list is sorted by: whether they were `gone`
    before its end; of the loan that matters `kit_code`, `stage` (its place on the way), `due`.
    """
    way = [When(stage=stage, then=Value(place)) for place, stage in enumerate(LoanStage)]
    is_open = Case(When(stage__in=OPEN_STAGES, then=Value(0)), default=Value(1))
    loans = Loan.objects.filter(enrolment=OuterRef("pk")).exclude(stage=LoanStage.CANCELLED)
    newest = loans.annotate(way=Case(*way)).order_by(is_open, "-assigned_at", "-pk")
    facts = {
        "gone": Case(When(withdrawn_on=None, then=Value(0)), default=Value(1)),
        "kit_code": Subquery(newest.values("kit__code")[:1]),
        "stage": Subquery(newest.values("way")[:1]),
        "due": Subquery(newest.values("due_on")[:1]),
    }
    return enrolments.annotate(**{name: facts[name] for name in fields if name in facts})


def enrolments_of_student(student: Student) -> QuerySet[Enrolment]:
    """Enrolments of a student, newest run first, prepared like those of a run."""
    return (
        student.enrolments.select_related("student", "run")
        .prefetch_related(_LOANS)
        .annotate(set_aside=kit_set_aside())
        .order_by("-run__starts_on", "pk")
    )


def holding(enrolment: Enrolment, today: date) -> Holding:
    """What an enrolment with its `kept_loans` and the kit `set_aside` comes to."""
    loans: list[Loan] = vars(enrolment)["kept_loans"]
    loan = next((loan for loan in loans if loan.is_open), loans[0] if loans else None)
    if loan is None:
        return _without_kit(enrolment)
    away = loan.stage == LoanStage.AWAY
    return Holding(
        enrolment,
        loan,
        mark_of(Sign.OVERDUE) if away and is_overdue(loan.due_on, today) else loan.mark,
        loan_button(loan, today),
        against=_against(loan),
        left=mark_of(Sign.ENDED, "withdrawn") if enrolment.withdrawn_on else None,
        due=due_words(loan.due_on, today) if away else "",
    )


def _without_kit(enrolment: Enrolment) -> Holding:
    withdrawn = enrolment.withdrawn_on is not None
    way = enrolment_act(withdrawn=withdrawn).here
    code = vars(enrolment)["set_aside"]
    waits = mark_of(Sign.UNASSIGNED, f"{grouped(code)} set aside" if code else "")
    mark = mark_of(Sign.ENDED, "withdrawn") if withdrawn else waits
    assign = button(way, run=enrolment.run) if way else None
    return Holding(enrolment, None, mark, assign)


def _against(loan: Loan) -> Mark | None:
    """What stands against the kit of a loan: held while it is here, issued on an override, or not
    cleared yet.
    """
    if loan.kit.state == KitState.HELD:
        return loan.kit.mark
    if loan.override_reason:
        return mark_of(Sign.OVERRIDDEN)
    uncleared = loan.stage == LoanStage.ASSIGNED and not loan.kit.cleared
    return mark_of(Sign.NOT_CLEARED) if uncleared else None


def run_situation(run: CourseRun, draft: RosterDraft | None, today: date) -> RunSituation:
    """What decides a run's next act, in one query; `draft` is the roster that waits."""
    on = Q(withdrawn_on__isnull=True)

    def stage(value: str) -> Count:
        return Count("pk", filter=Q(loans__stage=value), distinct=True)

    counts = run.enrolments.aggregate(
        students=Count("pk", filter=on, distinct=True),
        withdrawn=Count("pk", filter=~on, distinct=True),
        waiting=Count("pk", filter=unserved(), distinct=True),
        set_aside=Count("pk", filter=with_set_aside(), distinct=True),
        set_aside_here=Count("pk", filter=with_one_here(), distinct=True),
        to_pack=stage(LoanStage.ASSIGNED),
        to_dispatch=stage(LoanStage.PACKED),
        away=stage(LoanStage.AWAY),
        overdue=Count("pk", filter=overdue_on(today, "loans__"), distinct=True),
        to_check=stage(LoanStage.CHECK),
        to_settle=stage(LoanStage.RETURNED),
    )
    without = counts.pop("waiting") - counts["set_aside"]
    return RunSituation(roster_waits=draft is not None, without_kit=without, **counts)


def run_button(run: CourseRun, situation: RunSituation, draft: RosterDraft | None) -> Button | None:
    """The next act of a run; None where nobody on it waits for anything."""
    way = run_act(situation)
    return button(way, run=run, roster=draft) if way else None


def waiting_draft(run: CourseRun) -> RosterDraft | None:
    """The roster of a run that was uploaded and not imported yet."""
    return run.roster_drafts.filter(imported_at__isnull=True).defer("content").first()


def enrolments_without_kit(run: CourseRun) -> QuerySet[Enrolment]:
    """Students who are on a run and never got a kit for it, by name, each with the code of the kit
    that is `set_aside`.
    """
    waiting = run.enrolments.filter(unserved()).select_related("student", "run")
    waiting = waiting.annotate(set_aside=kit_set_aside())
    return waiting.order_by("student__name", "pk")


def free_kits(run: CourseRun) -> list[FreeKit]:
    """Kits of a run's type that may be assigned, in the order they are offered."""
    states = [state.value for state in ALLOWED[Verb.ASSIGNED]]
    kits = Kit.objects.filter(kit_type_id=run.kit_type_id, state__in=states)
    lent = Count("loans", filter=~Q(loans__stage=LoanStage.CANCELLED))
    kits = kits.annotate(back=Max("loans__arrived_at"), lent=lent, set_aside=set_aside_for(run))
    prefetch_related_objects([run.kit_type], "lines")
    return in_order(_free_kit(kit, run.kit_type) for kit in kits.prefetch_related(_FITTED))


def _free_kit(kit: Kit, kit_type: KitType) -> FreeKit:
    """A free kit with what the gate says; the type carries its contents list for all kits."""
    kit.kit_type = kit_type
    facts = vars(kit)
    return FreeKit(
        kit.code,
        kit.returned_at or facts["back"],
        uncleared(kit),
        tuple(lacking_in(kit)),
        loans=facts["lent"],
        set_aside=facts["set_aside"] or "",
    )
