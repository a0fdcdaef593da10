"""Another kit for a student whose kit is faulty, while the course goes on."""

from __future__ import annotations

from datetime import date, datetime

from django.utils import timezone

from rentals import transaction
from rentals.codes import grouped
from rentals.dates import short_date
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import Kit, Loan, Message
from rentals.next_acts import may_replace_kit
from rentals.states import LoanStage

from .assign import assign
from .deposit import carry_deposit
from .discard import discard_unsent
from .ledger import ledger_data, release_deposit
from .lock_order import lock_kits
from .record import Actor, lock_kit, record_kit, state_word


@transaction.atomic
def replace_kit(
    loan: Loan,
    kit: Kit,
    *,
    fault: str,
    due_on: date,
    actor: Actor = None,
    at: datetime | None = None,
) -> Loan:
    """Lend another kit in place of one that is with the student and faulty, until the day the
    faulty one was due; that is expected back on `due_on`. The deposit goes over to the new loan.

    Returns the new loan; `unassign` takes it back before it is packed.

    Raises
    ------
    Refused
        If the kit is not with the student or replaced already, no fault is named, the day lies
        before today, or the other kit cannot be lent.
    """
    locked = lock_kits({loan.kit_id, kit.pk})
    faulty = locked[loan.kit_id]
    loan = (
        Loan.objects.select_for_update(of=("self",), no_key=True)
        .select_related("enrolment")
        .get(pk=loan.pk)
    )
    today, fault = timezone.localdate(at), " ".join(fault.split())[:300].rstrip(".")
    if not may_replace_kit(LoanStage(loan.stage), faulty=bool(loan.fault)):
        why = "replaced already" if loan.fault else state_word(faulty)
        raise Refused(f"Kit {faulty.code} is {why}: another kit goes to a student who has it.")
    if not fault:
        raise Refused("Say what is wrong with the kit.", field="fault")
    if due_on < max(today, loan.post_by):
        raise Refused(
            "The faulty kit cannot be due back before today, nor before its posting.",
            field="due_on",
        )
    until, rule = loan.due_on, loan.due_on_rule
    loan.fault, loan.due_on, loan.due_on_rule = fault, due_on, ""
    loan.save(update_fields=["fault", "due_on", "due_on_rule"])
    last_day = max(until, today)
    successor = assign(
        kit, loan.enrolment, post_by=today, due_on=last_day, replaces=loan, actor=actor, at=at
    )
    if last_day == until and rule:
        successor.due_on_rule = rule
        successor.save(update_fields=["due_on_rule"])
    carried = carry_deposit(loan, successor, actor=actor, at=at)
    entries = carried or [release_deposit(loan, actor=actor, at=at)]
    loan.deposit = 0
    loan.save(update_fields=["deposit"])
    text = (
        f"Faulty: {fault}. Kit {grouped(kit.code)} goes out in its place; it is due back"
        f" {short_date(due_on)}."
    )
    data = {"replaced_by": successor.pk, **ledger_data(*entries)}
    record_kit(lock_kit(faulty), Verb.NOTED, text, actor=actor, loan=loan, data=data, at=at)
    reminders = [Message.Occasion.DUE_SOON, Message.Occasion.OVERDUE]
    reason = f"The kit is faulty and due on {short_date(due_on)}."
    discard_unsent(loan, reminders, reason=reason, at=at)
    return successor
