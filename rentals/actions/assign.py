"""Lending kits to enrolled students: one, or many in one act, which writes what the single acts
would have written, in the same order and in few queries.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date, datetime
from typing import NamedTuple

from django.db import IntegrityError
from django.utils import timezone

from rentals import transaction
from rentals.errors import Refused
from rentals.lifecycle import Verb, may
from rentals.models import OPEN_STAGES, CourseRun, Earmark, Enrolment, Kit, Loan
from rentals.planning.calendar import PlannedDay
from rentals.planning.day_rules import DayRules
from rentals.selectors.plan_days import LoanDays, day_rules, loan_days
from rentals.states import KitState

from .deposit import ask_deposits
from .ledger import ledger_data
from .lock_order import lock_in_order, lock_kits
from .packing_list import draw_up_new
from .record import Actor, no_such_kit
from .record_many import KitNews, record_kits


class Assignment(NamedTuple):
    """A kit to be lent; the days come from the run and the student's country unless given. A loan
    that `replaces` one whose kit is faulty asks the deposit of that.
    """

    kit: Kit
    enrolment: Enrolment
    post_by: date | None = None
    due_on: date | None = None
    replaces: Loan | None = None


def assign(
    kit: Kit,
    enrolment: Enrolment,
    *,
    post_by: date | None = None,
    due_on: date | None = None,
    replaces: Loan | None = None,
    actor: Actor = None,
    at: datetime | None = None,
) -> Loan:
    """Lend one kit, as `assign_many` does.

    Raises
    ------
    Refused
        If the kit is not in the house and free, the student withdrew or has a kit, or the kit is of
        another type.
    """
    [loan] = assign_many(
        [Assignment(kit, enrolment, post_by, due_on, replaces)], actor=actor, at=at
    )
    return loan


@transaction.atomic
def assign_many(
    asked: Sequence[Assignment],
    *,
    field_of: Callable[[Enrolment], str] | None = None,
    actor: Actor = None,
    at: datetime | None = None,
) -> list[Loan]:
    """Lend each kit to its student, all or none; the loans come in the order asked. `field_of`
    names the form's field of an enrolment, where that is not the usual one of the refusal.

    Raises
    ------
    Refused
        At the first of them that cannot be: as `assign`.
    """
    if not asked:
        return []
    at = at or timezone.now()
    kits = lock_kits(row.kit.pk for row in asked)
    enrolments = _lock_enrolments(row.enrolment.pk for row in asked)
    rules = _rules_for(row.run for row in enrolments.values())
    kits_of = _kits_of(enrolments)
    given: set[int] = set()
    loans: list[Loan] = []
    for wanted in asked:
        enrolment = enrolments.get(wanted.enrolment.pk)
        try:
            if enrolment is None:
                raise Refused("This student is not on the run any more.", field="enrolment")
            kit = kits.get(wanted.kit.pk) or no_such_kit(wanted.kit.pk)
            state = KitState.ASSIGNED if kit.pk in given else KitState(kit.state)
            _check(kit, state, enrolment, kits_of.get(enrolment.pk, ""))
            days = _days_of_loan(enrolment, wanted.post_by, wanted.due_on, rules)
        except Refused as refusal:
            if field_of is None:
                raise
            raise Refused(refusal.sentence, field=field_of(wanted.enrolment)) from refusal
        given.add(kit.pk)
        kits_of[enrolment.pk] = kit.code
        loans.append(_loan(kit, enrolment, days, wanted.replaces, at))
    _write(loans, actor=actor, at=at)
    return loans


def _write(loans: Sequence[Loan], *, actor: Actor, at: datetime) -> None:
    """The loans with all that hangs on them."""
    try:
        with transaction.atomic():
            Loan.objects.bulk_create(loans)
    except IntegrityError as taken_now:
        raise Refused(
            "Kit or student was taken a moment ago by somebody else. Look again."
        ) from taken_now
    draw_up_new(loans)
    asked = ask_deposits(loans, actor=actor, at=at)
    # Whatever was set aside for the students has served its purpose.
    Earmark.objects.filter(enrolment__in=[loan.enrolment_id for loan in loans]).delete()
    news = [
        KitNews(
            loan.kit,
            Verb.ASSIGNED,
            f"Assigned to {loan.enrolment.student.name} for {loan.enrolment.run.name}.",
            ledger_data(*asked[loan.pk]),
            loan,
        )
        for loan in loans
    ]
    record_kits(news, actor=actor, at=at)


def _lock_enrolments(numbers: Iterable[int]) -> dict[int, Enrolment]:
    rows = Enrolment.objects.select_related("student", "run").filter(pk__in=set(numbers))
    return {row.pk: row for row in lock_in_order(rows)}


def _rules_for(runs: Iterable[CourseRun]) -> DayRules | None:
    """What the days are worked out with, where a run's are worked out."""
    return day_rules() if any(run.post_by_rule or run.return_by_rule for run in runs) else None


def _kits_of(enrolments: Iterable[int]) -> dict[int, str]:
    """Codes of the kits that students have, by enrolment; a faulty one that is expected back does
    not count.
    """
    loans = Loan.objects.filter(enrolment__in=list(enrolments), stage__in=OPEN_STAGES, fault="")
    return dict(loans.values_list("enrolment_id", "kit__code"))


def _check(kit: Kit, state: KitState, enrolment: Enrolment, has: str) -> None:
    run, student = enrolment.run, enrolment.student
    if not may(Verb.ASSIGNED, state):
        raise Refused(
            f"Kit {kit.code} is {state.label} and cannot be assigned. Choose another kit.",
            field="kit",
        )
    if enrolment.withdrawn_on:
        raise Refused(f"{student.name} withdrew from {run.name}.", field="enrolment")
    if kit.kit_type_id != run.kit_type_id:
        raise Refused(
            f"Kit {kit.code} is a {kit.kit_type.name}; {run.name} needs another kit type.",
            field="kit",
        )
    if has:
        raise Refused(f"{student.name} already has kit {has} on this run.", field="enrolment")


def _days_of_loan(
    enrolment: Enrolment, post_by: date | None, due_on: date | None, rules: DayRules | None
) -> LoanDays:
    """The days that were given, else those of the run and the student's country."""
    days = loan_days(enrolment.run, str(enrolment.student.country or ""), rules)
    days = LoanDays(
        PlannedDay(post_by, "") if post_by else days.post,
        PlannedDay(due_on, "") if due_on else days.due,
    )
    if days.due.day < days.post.day:
        raise Refused(
            "The kit is due back before it is posted: check the two dates.", field="due_on"
        )
    return days


def _loan(
    kit: Kit, enrolment: Enrolment, days: LoanDays, replaces: Loan | None, at: datetime
) -> Loan:
    return Loan(
        kit=kit,
        enrolment=enrolment,
        post_by=days.post.day,
        post_by_rule=days.post.rule,
        due_on=days.due.day,
        due_on_rule=days.due.rule,
        assigned_at=at,
        deposit=replaces.deposit if replaces else enrolment.run.deposit,
        replaces=replaces,
    )
