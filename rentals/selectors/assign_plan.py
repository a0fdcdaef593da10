"""What a plan of kits for some runs is made from: kits, students and what is agreed, from rows in a
fixed number of queries.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from django.db.models import Count, Exists, Max, OuterRef, Prefetch, Q, QuerySet

from rentals.models import OPEN_STAGES, CourseRun, Enrolment, Kit, Loan, LoanStage
from rentals.planning.assigning_facts import TO_MEND, TO_TEST, Agreed, KitAhead, Need
from rentals.planning.day_rules import DayRules
from rentals.planning.free_kits import rest_order
from rentals.selectors.earmarks import earmarks
from rentals.selectors.plan_days import day_rules, loan_days
from rentals.selectors.to_mend import kits_to_mend
from rentals.states import KitState

_OUT_OF_USE = (KitState.RETIRED, KitState.HELD)
_AWAY = (LoanStage.PACKED, LoanStage.AWAY)
_TICKED = Count("packing_lines", filter=Q(packing_lines__ticked_at__isnull=False))
_OPEN_LOANS = Prefetch(
    "loans",
    queryset=Loan.objects.filter(stage__in=OPEN_STAGES)
    .annotate(ticked=_TICKED)
    .select_related("enrolment__student"),
    to_attr="open_loans",
)


@dataclass(frozen=True)
class PlanFacts:
    """All that a plan of some runs is made from.

    `agreed` holds also what is set aside for students of other runs, whose needs stand in `needs`
    and who keep it. `students` are those of the runs themselves; `kit_rows` and `holders` (who has
    a kit now) are by the kit's code; `unfit` says of a kit that is to be mended what is to be done.
    """

    kits: tuple[KitAhead, ...]
    needs: tuple[Need, ...]
    agreed: tuple[Agreed, ...]
    students: dict[int, Enrolment]
    holders: dict[str, str]
    unfit: dict[str, str]
    loans: dict[int, int]

    @property
    def digest(self) -> str:
        """Changes whenever anything changes that the plan is made from."""
        facts = repr((self.kits, self.needs, sorted(self.agreed, key=lambda row: row.who)))
        return hashlib.sha256(facts.encode()).hexdigest()[:24]

    def agreed_kit(self) -> dict[int, Agreed]:
        """What is agreed with each student of the runs."""
        return {row.who: row for row in self.agreed if row.who in self.students}


def runs_to_plan(today: date) -> QuerySet[CourseRun]:
    """Runs that are not over and have students whose kit is not packed yet, as `open_students`;
    the first to be posted first.
    """
    count = Count("enrolments", filter=_unpacked("enrolments__"), distinct=True)
    runs = CourseRun.objects.filter(ends_on__gte=today).annotate(open_students=count)
    runs = runs.filter(open_students__gt=0).select_related("kit_type")
    return runs.order_by("post_by", "pk")


def _unpacked(enrolment: str = "") -> Q:
    beyond = Loan.objects.exclude(stage__in=(LoanStage.CANCELLED, LoanStage.ASSIGNED))
    on_run = Q(**{f"{enrolment}withdrawn_on__isnull": True})
    # Looked up for each student: the list of all whose kit ever left only grows.
    return on_run & ~Q(Exists(beyond.filter(enrolment=OuterRef(f"{enrolment}pk"))))


def plan_facts(runs: Sequence[CourseRun], today: date) -> PlanFacts:
    """The facts of these runs on a day."""
    rules = day_rules()
    own = {row.pk: row for row in _students(runs)}
    kinds = {run.kit_type_id for run in runs}
    marked = list(earmarks().filter(kit__kit_type__in=kinds))
    elsewhere = [row for row in marked if row.enrolment_id not in own]
    rows = sorted(_kits(kinds), key=_rest)
    loans = {loan.enrolment_id: loan for kit in rows for loan in vars(kit)["open_loans"]}
    to_move = {who: loan for who, loan in loans.items() if who in own}
    days = _Days(rules, today)
    unfit = kits_to_mend(kinds)
    kits = [_kit(row, days, own, unfit) for row in rows if row.state not in _OUT_OF_USE]
    kits.sort(key=lambda kit: kit.to_do)
    agreed = [Agreed(row.enrolment_id, row.kit.code, pinned=True) for row in elsewhere]
    agreed += [
        Agreed(row.enrolment_id, row.kit.code, row.pinned)
        for row in marked
        if row.enrolment_id in own
    ]
    code_of = {row.pk: row.code for row in rows}
    agreed += [
        # Who has begun to pack a parcel need not unpack it for a plan.
        Agreed(who, code_of[loan.kit_id], pinned=vars(loan)["ticked"] > 0)
        for who, loan in to_move.items()
    ]
    students = [*own.values(), *(row.enrolment for row in elsewhere)]
    return PlanFacts(
        kits=tuple(kits),
        needs=tuple(days.need(student) for student in students),
        agreed=tuple(agreed),
        students=own,
        holders={
            row.code: loan.enrolment.student.name
            for row in rows
            for loan in vars(row)["open_loans"]
        },
        unfit=unfit,
        loans={who: loan.pk for who, loan in to_move.items()},
    )


def _students(runs: Sequence[CourseRun]) -> QuerySet[Enrolment]:
    rows = Enrolment.objects.filter(_unpacked(), run__in=runs)
    rows = rows.select_related("student", "run__kit_type")
    return rows.order_by("run__post_by", "run", "student__name", "pk")


def _kits(kinds: set[int]) -> QuerySet[Kit]:
    lent = Count("loans", filter=~Q(loans__stage=LoanStage.CANCELLED), distinct=True)
    kits = Kit.objects.filter(kit_type__in=kinds).exclude(state=KitState.RETIRED)
    kits = kits.annotate(lent=lent, back=Max("loans__arrived_at"))
    return kits.prefetch_related(_OPEN_LOANS).order_by("code")


def _rest(kit: Kit) -> tuple[bool, float, str]:
    return rest_order(kit.returned_at or vars(kit)["back"], kit.code)


def _kit(kit: Kit, days: _Days, own: dict[int, Enrolment], unfit: Collection[str]) -> KitAhead:
    loans: list[Loan] = vars(kit)["open_loans"]
    loan = next(iter(loans), None)
    movable = loan is not None and loan.enrolment_id in own
    lent = vars(kit)["lent"] - movable
    if loan is not None and not movable and loan.stage in (LoanStage.ASSIGNED, *_AWAY):
        free_on = days.after_return(loan.due_on)
        to_do = TO_MEND if kit.code in unfit else TO_TEST
        return KitAhead(kit.code, kit.kit_type_id, free_on, lent, to_do, comes_back=True)
    if kit.cleared:
        return KitAhead(kit.code, kit.kit_type_id, days.today, lent)
    free_on = days.after_check() if kit.state == KitState.CHECK else days.after_bench()
    to_do = TO_MEND if kit.code in unfit else TO_TEST
    return KitAhead(kit.code, kit.kit_type_id, free_on, lent, to_do)


class _Days:
    """Days by the practice's rules, each worked out once."""

    def __init__(self, rules: DayRules, today: date) -> None:
        self.today = today
        self._rules = rules
        self._at_home = replace(rules, turnaround=replace(rules.turnaround, check=0, clean=0))
        self._free: dict[date, date] = {}
        self._loans: dict[tuple[int, str], tuple[date, date]] = {}

    def after_return(self, due_on: date) -> date:
        """When a kit is free that is due on a day; one overdue is awaited today at the earliest."""
        back_on = max(due_on, self.today)
        if back_on not in self._free:
            self._free[back_on] = self._rules.free_again(back_on).day
        return self._free[back_on]

    def after_check(self) -> date:
        """When a kit is free that came back and waits for its check."""
        return self.after_return(self.today)

    def after_bench(self) -> date:
        """When a kit is free that is checked and waits for charging and the bench."""
        return self._at_home.free_again(self.today).day

    def need(self, enrolment: Enrolment) -> Need:
        """The student's days: late from today on where the day of posting has passed, and until
        the middle of the run.
        """
        run = enrolment.run
        post, due = self._days_of(run, str(enrolment.student.country or ""))
        post_by = max(post, self.today)
        middle = run.starts_on + (run.ends_on - run.starts_on) // 2
        free_again = max(self.after_return(due), post_by + timedelta(days=1))
        latest = min(max(middle, post_by), free_again - timedelta(days=1))
        return Need(enrolment.pk, run.kit_type_id, post_by, free_again, latest)

    def _days_of(self, run: CourseRun, country: str) -> tuple[date, date]:
        key = (run.pk, country)
        if key not in self._loans:
            days = loan_days(run, country, self._rules)
            self._loans[key] = (days.post.day, days.due.day)
        return self._loans[key]
