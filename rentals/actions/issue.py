"""From the shelf to the post: take back, clear, override, hold, release, retire."""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone

from rentals import transaction
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import Kit, Loan, LoanStage
from rentals.next_acts import may_unassign
from rentals.selectors.open_loan import open_loan

from .bench_word import clear_locked, refuse_locked
from .faulty_kit import lock_with_faulty, take_back_swap
from .ledger import ledger_data, release_deposit
from .record import Actor, lock_kit, lock_open_loan, record_kit, state_word
from .register import remove_part


@transaction.atomic
def unassign(
    kit: Kit, *, reason: str = "", actor: Actor = None, at: datetime | None = None
) -> Loan:
    """Take an assignment back before the kit is packed."""
    kit = lock_with_faulty(kit)
    loan = lock_open_loan(kit)
    if not may_unassign(LoanStage(loan.stage)):
        raise Refused(f"Kit {kit.code} is {state_word(kit)}: unpack it first.")
    loan.stage, loan.closed_at = LoanStage.CANCELLED, at or timezone.now()
    loan.save(update_fields=["stage", "closed_at"])
    loan.packing_lines.all().delete()
    released = release_deposit(loan, actor=actor, at=at)
    because = f": {reason}" if reason else ""
    name = loan.enrolment.student.name
    record_kit(
        kit,
        Verb.UNASSIGNED,
        f"No longer assigned to {name}{because}.",
        actor=actor,
        loan=loan,
        data=ledger_data(released),
        at=at,
    )
    if loan.replaces_id:
        take_back_swap(loan, actor=actor, at=at)
    return loan


@transaction.atomic
def clear(kit: Kit, *, why: str, actor: Actor = None, at: datetime | None = None) -> Kit:
    """Clear a kit for issue. `why` says on what ground (the bench tests passed).

    Raises
    ------
    Refused
        If a part is missing or damaged, or the kit is packed, away, held or not yet checked.
    """
    kit = lock_kit(kit)
    clear_locked(kit, why=why, actor=actor, at=at)
    return kit


@transaction.atomic
def refuse_clearance(
    kit: Kit, *, reason: str, actor: Actor = None, at: datetime | None = None
) -> Kit:
    """Say that the bench found the kit wanting; it keeps the reason, and loses its clearance where
    it had one.
    """
    kit = lock_kit(kit)
    refuse_locked(kit, reason=reason, actor=actor, at=at)
    return kit


@transaction.atomic
def override_gate(kit: Kit | str, *, reason: str, actor: Actor, at: datetime | None = None) -> Loan:
    """Let an assigned kit go out although it is not cleared; the owner's written reason stays
    visible.
    """
    kit = lock_kit(kit)
    loan = lock_open_loan(kit)
    if actor is None or not getattr(actor, "is_superuser", False):
        raise Refused("Only the owner can issue a kit that is not cleared.", field="reason")
    reason = reason.strip()
    if len(reason) < 10:
        raise Refused(
            "Write the reason in a sentence; it stays on the kit, the loan and the packing list.",
            field="reason",
        )
    if kit.override_reason:
        if kit.override_reason == reason[:500]:
            return loan
        raise Refused(
            f"Kit {kit.code} goes out on an override already: {kit.override_reason}",
            field="reason",
        )
    kit.override_reason = reason[:500]
    record_kit(
        kit, Verb.OVERRIDDEN, f"Issued on an override: {reason}", actor=actor, loan=loan, at=at
    )
    loan.override_reason, loan.overridden_by = kit.override_reason, actor
    loan.save(update_fields=["override_reason", "overridden_by"])
    return loan


@transaction.atomic
def hold(kit: Kit, *, reason: str, actor: Actor = None, at: datetime | None = None) -> Kit:
    """Take a kit out of the loop until released."""
    kit = lock_kit(kit)
    if not reason.strip():
        raise Refused("Say why the kit is held.", field="reason")
    kit.hold_reason = reason.strip()[:300]
    record_kit(kit, Verb.HELD, f"Held: {kit.hold_reason}", actor=actor, loan=open_loan(kit), at=at)
    return kit


@transaction.atomic
def release(kit: Kit, *, actor: Actor = None, at: datetime | None = None) -> Kit:
    """End a hold; the kit is where it was before."""
    kit = lock_kit(kit)
    record_kit(kit, Verb.RELEASED, "Released from hold.", actor=actor, loan=open_loan(kit), at=at)
    return kit


@transaction.atomic
def retire(kit: Kit, *, reason: str, actor: Actor = None, at: datetime | None = None) -> Kit:
    """Take a kit out of use for good; its parts become spares."""
    kit = lock_kit(kit)
    if not reason.strip():
        raise Refused("Say why the kit is retired.", field="reason")
    if open_loan(kit) is not None:
        raise Refused(f"Kit {kit.code} is on a loan: end that first.")
    for part in list(kit.parts.all()):
        to = part.Place.REPAIR if part.damaged else part.Place.SPARE
        remove_part(kit, part, to=to, reason="kit retired", actor=actor, at=at)
    kit = lock_kit(kit)
    record_kit(kit, Verb.RETIRED, f"Retired: {reason.strip()}", actor=actor, at=at)
    return kit


@transaction.atomic
def note(kit: Kit, text: str, *, actor: Actor = None, at: datetime | None = None) -> Kit:
    """Write a line into the kit's history."""
    kit = lock_kit(kit)
    if not text.strip():
        raise Refused("Write something to note.", field="note")
    record_kit(kit, Verb.NOTED, text.strip()[:500], actor=actor, loan=open_loan(kit), at=at)
    return kit
