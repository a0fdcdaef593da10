"""A parcel with a part of the kit: its check is closed in part, and the rest stays due."""

from __future__ import annotations

from datetime import datetime

from rentals import transaction
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import Loan, LoanStage, ReturnCheck
from rentals.selectors.return_rest import still_to_come

from .receive import lock_check
from .record import Actor, lock_kit, record_kit


@transaction.atomic
def await_rest(check: ReturnCheck, *, actor: Actor = None, at: datetime | None = None) -> Loan:
    """Close a check in part: what is back stands, what nobody has looked at is still due on the
    day the kit was due. The next parcel goes on with the same check. Safe to repeat.

    Raises
    ------
    Refused
        If nothing is still to come, or nothing has come.
    """
    kit = lock_kit(check.loan.kit_id)
    check = lock_check(check)
    loan = Loan.objects.select_for_update(no_key=True).get(pk=check.loan_id)
    if loan.stage == LoanStage.AWAY:
        return loan
    lines = list(check.lines.select_related("packing_line").order_by("packing_line__order", "pk"))
    rest = still_to_come(lines)
    if not rest:
        raise Refused("Every line is looked at and nothing is still to come: finish the check.")
    if not any(line.quantity_back for line in lines):
        raise Refused("Nothing of the kit is back yet: mark what came in this parcel first.")
    loan.stage, loan.arrived_at = LoanStage.AWAY, None
    # What the student has posted is this parcel: of the rest nothing is known.
    loan.sent_back_on, loan.return_tracking_number = None, ""
    loan.save(
        update_fields=["stage", "arrived_at", "sent_back_on", "return_tracking_number"],
    )
    text = f"Part of it is back. Still to come: {', '.join(rest)}."
    record_kit(kit, Verb.PART_CAME, text, actor=actor, loan=loan, at=at)
    return loan
