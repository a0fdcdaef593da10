"""Another kit for a student whose kit is not packed yet."""

from __future__ import annotations

from datetime import datetime

from rentals import transaction
from rentals.models import Kit, Loan

from .assign import assign
from .issue import unassign
from .record import Actor
from .replace_kit import replace_kit


@transaction.atomic
def give_another_kit(
    loan: Loan, kit: Kit, *, actor: Actor = None, at: datetime | None = None
) -> Loan:
    """Take an assigned kit back and lend another one for the same enrolment, on the same days.

    Raises
    ------
    Refused
        If the kit is packed already, or the other one cannot be lent.
    """
    faulty = loan.replaces
    if faulty is not None:
        fault, back_on = faulty.fault, faulty.due_on
        unassign(loan.kit, reason=f"kit {kit.code} goes instead", actor=actor, at=at)
        return replace_kit(faulty, kit, fault=fault, due_on=back_on, actor=actor, at=at)
    before = unassign(loan.kit, reason=f"kit {kit.code} goes instead", actor=actor, at=at)
    after = assign(
        kit,
        before.enrolment,
        post_by=before.post_by,
        due_on=before.due_on,
        actor=actor,
        at=at,
    )
    after.post_by_rule, after.due_on_rule = before.post_by_rule, before.due_on_rule
    after.save(update_fields=["post_by_rule", "due_on_rule"])
    return after
