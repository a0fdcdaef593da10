"""A plan of kits accepted: all of it or some rows, in one transaction."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from rentals import transaction
from rentals.errors import Refused
from rentals.lifecycle import Verb, may
from rentals.models import CourseRun, Kit, Loan
from rentals.selectors.assign_plan import plan_facts
from rentals.states import KitState

from .assign import Assignment, assign_many
from .earmark import set_aside
from .issue import unassign
from .lock_order import lock_in_order
from .record import Actor


@dataclass(frozen=True)
class Accepted:
    """How many kits were set aside, and how many assigned at once in place of another one."""

    set_aside: int
    assigned: int


@transaction.atomic
def accept_plan(
    runs: Sequence[CourseRun],
    kit_of: Mapping[int, str],
    *,
    digest: str,
    today: date,
    actor: Actor = None,
    at: datetime | None = None,
) -> Accepted:
    """Give each enrolment the kit of the plan: it is set aside. Who has another kit assigned gets
    the new one assigned where that is here, on the same days.

    Parameters
    ----------
    runs : sequence of CourseRun
        The runs that the plan was made for.
    kit_of : mapping
        The kit's code by the number of the enrolment.
    digest : str
        That of the facts which the plan was made from.

    Raises
    ------
    Refused
        If anything moved since the plan was made, or nothing is to be accepted.
    """
    if not kit_of:
        raise Refused("Nothing was ticked: tick the rows to accept.")
    _lock(runs)
    facts = plan_facts(runs, today)
    if facts.digest != digest:
        raise Refused("Something moved since this plan was made. Below stands the plan as of now.")
    moved = {who: facts.loans[who] for who in kit_of if who in facts.loans}
    loans = Loan.objects.select_related("kit", "enrolment").filter(pk__in=moved.values())
    before = {loan.enrolment_id: loan for loan in loans}
    for loan in before.values():
        unassign(loan.kit, reason="another kit goes instead", actor=actor, at=at)
    here = {kit.code: kit for kit in Kit.objects.filter(code__in=[kit_of[who] for who in before])}
    now = [who for who in before if may(Verb.ASSIGNED, KitState(here[kit_of[who]].state))]
    again = [
        Assignment(here[kit_of[who]], old.enrolment, old.post_by, old.due_on)
        for who in now
        for old in [before[who]]
    ]
    assign_many(again, actor=actor, at=at)
    later = {who: code for who, code in kit_of.items() if who not in now}
    return Accepted(len(set_aside(later, actor=actor, at=at)), len(now))


def _lock(runs: Sequence[CourseRun]) -> None:
    """All kits of the types concerned, in one order: none of them moves until this is written."""
    kinds = {run.kit_type_id for run in runs}
    lock_in_order(Kit.objects.filter(kit_type__in=kinds).only("pk"))
