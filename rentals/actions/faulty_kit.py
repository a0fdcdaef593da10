"""The faulty kit of a student who gets another one: still expected back, on a day of its own."""

from __future__ import annotations

from datetime import datetime

from rentals.accounts import EntryKind
from rentals.codes import grouped
from rentals.lifecycle import Verb
from rentals.models import OPEN_STAGES, Kit, Loan, LoanStage

from .deposit import carry_deposit
from .ledger import ledger_data, post_entry
from .lock_order import lock_kits
from .record import Actor, lock_kit, record_kit


def lock_with_faulty(kit: Kit) -> Kit:
    """Lock a kit, and the faulty one that it stands in for, in the order of their numbers."""
    loans = Loan.objects.filter(kit=kit, stage__in=OPEN_STAGES, replaces__isnull=False)
    faulty = loans.values_list("replaces__kit", flat=True)
    return lock_kits({kit.pk, *faulty})[kit.pk]


def take_back_swap(loan: Loan, *, actor: Actor = None, at: datetime | None = None) -> None:
    """The cancelled `loan` of a kit that was to stand in for another one has ended: the student
    keeps the first kit, on the day and with the deposit it had. Both kits are locked.
    """
    before = Loan.objects.select_for_update(no_key=True).get(successors=loan)
    before.fault = ""
    if before.stage == LoanStage.AWAY:
        before.due_on, before.due_on_rule = loan.due_on, loan.due_on_rule
    entries = []
    if before.stage != LoanStage.SETTLED:
        before.deposit = loan.deposit
        asked = EntryKind.DEPOSIT_ASKED
        entries = [post_entry(before, asked, before.deposit, actor=actor, at=at)]
        entries += carry_deposit(loan, before, actor=actor, at=at)
    before.save(update_fields=["fault", "due_on", "due_on_rule", "deposit"])
    text = f"No other kit goes out in its place: kit {grouped(loan.kit.code)} is free again."
    data = {"replaced_by": None, **ledger_data(*entries)}
    kit = lock_kit(before.kit_id)
    record_kit(kit, Verb.NOTED, text, actor=actor, loan=before, data=data, at=at)
