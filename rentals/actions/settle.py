"""Shortfalls: chase, recover, charge, waive; and settling the loan when nothing is left open."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from django.utils import timezone

from rentals import transaction
from rentals.accounts import EntryKind
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import OF_A_SHORTFALL, Entry, Loan, LoanStage, Message, Part, Shortfall
from rentals.planning.money import money_text
from rentals.planning.settlement import is_undecided

from .discard import discard_unsent
from .draft import draft_by_itself
from .ledger import ledger_data, post_entry, release_deposit, reverse_entry, standing_entry
from .of_erased import refuse_erased
from .record import Actor, lock_kit, record_kit
from .register import lock_part, place_part
from .renew_mail import renew_loan
from .restock import put_back

State = Shortfall.State


def _lock(shortfall: Shortfall, *, ended: bool = False) -> Shortfall:
    lock_kit(shortfall.loan.kit_id)
    locked = (
        Shortfall.objects.select_for_update(of=("self",))
        .select_related("loan__kit", "packing_line")
        .get(pk=shortfall.pk)
    )
    refuse_erased(locked.loan)
    if not (ended or is_undecided(locked.state)):
        raise Refused(f"{locked.packing_line.name} is already {locked.get_state_display()}.")
    return locked


def _end(
    shortfall: Shortfall,
    state: str,
    text: str,
    *,
    actor: Actor,
    at: datetime | None,
    closed: bool = True,
    entry: Entry | None = None,
) -> Shortfall:
    shortfall.state = state
    shortfall.closed_at = (at or timezone.now()) if closed else None
    shortfall.save()
    kit = lock_kit(shortfall.loan.kit_id)
    record_kit(
        kit,
        Verb.SHORTFALL,
        text,
        actor=actor,
        loan=shortfall.loan,
        part=shortfall.packing_line.part,
        data=ledger_data(entry),
        at=at,
    )
    return shortfall


@transaction.atomic
def chase(shortfall: Shortfall, *, actor: Actor = None, at: datetime | None = None) -> Shortfall:
    """The student was asked for the part."""
    shortfall = _lock(shortfall)
    text = f"Asked for {shortfall.packing_line.name}."
    return _end(shortfall, State.CHASED, text, actor=actor, at=at, closed=False)


@transaction.atomic
def recover(shortfall: Shortfall, *, actor: Actor = None, at: datetime | None = None) -> Shortfall:
    """The part came after all; a serial part is a spare again, counted ones go back to stock.

    What was charged for it, or written off, is taken back, also after the loan was settled: the
    student then has money to get, and a statement anew.
    """
    shortfall = _lock(shortfall, ended=True)
    packed = shortfall.packing_line
    if shortfall.state == State.RECOVERED:
        raise Refused(f"{packed.name} is already {shortfall.get_state_display()}.")
    if shortfall.kind == Shortfall.Kind.DAMAGED:
        raise Refused(f"{packed.name} is here, damaged: charge for it, or waive it with a reason.")
    if packed.part is not None:
        part = lock_part(packed.part)
        if part.place in (Part.Place.MISSING, Part.Place.LOST):
            place_part(part, Part.Place.SPARE, reason="recovered", actor=actor, at=at)
    elif packed.stock_item is not None:
        put_back(packed.stock_item, shortfall.quantity, packed.batch)
    reversal = _take_back(shortfall, actor=actor, at=at)
    text = f"{packed.name} recovered."
    if reversal is not None:
        sum_taken_back = money_text(reversal.amount, reversal.currency)
        text = f"{text} Its {shortfall.get_state_display()} {sum_taken_back} is taken back."
    _end(shortfall, State.RECOVERED, text, actor=actor, at=at, entry=reversal)
    _tell_anew(shortfall.loan, actor=actor, at=at)
    return shortfall


def _take_back(shortfall: Shortfall, *, actor: Actor, at: datetime | None) -> Entry | None:
    """Reverse what was charged or written off for a shortfall; None where nothing was."""
    entry = standing_entry(shortfall.loan, *OF_A_SHORTFALL, shortfall=shortfall)
    if entry is None:
        return None
    return reverse_entry(entry, memo="It came after all.", actor=actor, at=at)


def _tell_anew(loan: Loan, *, actor: Actor, at: datetime | None) -> None:
    """The sums of a loan that was settled have changed: its statement goes out once more."""
    if loan.stage != LoanStage.SETTLED:
        return
    renew_loan(loan, at=at)
    draft_by_itself(Message.Occasion.STATEMENT, loan, actor=actor, at=at)


@transaction.atomic
def charge(
    shortfall: Shortfall,
    amount: Decimal,
    *,
    reason: str = "",
    actor: Actor = None,
    at: datetime | None = None,
) -> Shortfall:
    """The student pays for the part."""
    shortfall = _lock(shortfall)
    if amount < 0:
        raise Refused("A charge cannot be below zero.", field="amount")
    shortfall.amount, shortfall.reason = amount, reason.strip()[:300]
    _lose(shortfall, actor=actor, at=at)
    entry = _decided(shortfall, EntryKind.CHARGE, actor=actor, at=at)
    text = f"{shortfall.packing_line.name} charged."
    return _end(shortfall, State.CHARGED, text, actor=actor, at=at, entry=entry)


def _decided(
    shortfall: Shortfall, kind: EntryKind, *, actor: Actor, at: datetime | None
) -> Entry | None:
    return post_entry(
        shortfall.loan,
        kind,
        shortfall.amount,
        memo=shortfall.reason,
        shortfall=shortfall,
        actor=actor,
        at=at,
    )


@transaction.atomic
def waive(
    shortfall: Shortfall, *, reason: str, actor: Actor = None, at: datetime | None = None
) -> Shortfall:
    """Nobody pays; the reason stays."""
    shortfall = _lock(shortfall)
    if not reason.strip():
        raise Refused("Say why nobody pays for it.", field="reason")
    shortfall.reason = reason.strip()[:300]
    _lose(shortfall, actor=actor, at=at)
    entry = _decided(shortfall, EntryKind.WAIVED, actor=actor, at=at)
    text = f"{shortfall.packing_line.name} waived: {reason}"
    return _end(shortfall, State.WAIVED, text, actor=actor, at=at, entry=entry)


def _lose(shortfall: Shortfall, *, actor: Actor, at: datetime | None) -> None:
    part = shortfall.packing_line.part
    if part is None or shortfall.kind != Shortfall.Kind.MISSING:
        return
    part = lock_part(part)
    if part.place == Part.Place.MISSING:
        place_part(part, Part.Place.LOST, reason="not recovered", actor=actor, at=at)


@transaction.atomic
def settle(loan: Loan, *, actor: Actor = None, at: datetime | None = None) -> Loan:
    """End a loan for good.

    Raises
    ------
    Refused
        If the kit is not back yet or a shortfall is still open.
    """
    kit = lock_kit(loan.kit_id)
    loan = Loan.objects.select_for_update(no_key=True).get(pk=loan.pk)
    if loan.stage == LoanStage.SETTLED:
        return loan
    if loan.stage not in (LoanStage.RETURNED, LoanStage.LOST):
        raise Refused("The kit has not been checked back in: a loan is settled after its return.")
    shortfalls = loan.shortfalls.select_related("packing_line")
    undecided = [short for short in shortfalls if is_undecided(short.state)]
    if undecided:
        names = ", ".join(short.packing_line.name for short in undecided)
        raise Refused(
            f"Still open: {names}. Recover, charge or waive each first.", field="shortfalls"
        )
    loan.stage = LoanStage.SETTLED
    loan.save(update_fields=["stage"])
    released = release_deposit(loan, actor=actor, at=at)
    record_kit(
        kit,
        Verb.SETTLED,
        f"Loan to {loan.enrolment.student.name} settled.",
        actor=actor,
        loan=loan,
        data=ledger_data(released),
        at=at,
    )
    discard_unsent(loan, [Message.Occasion.SHORTFALL], reason="The loan is settled.", at=at)
    draft_by_itself(Message.Occasion.STATEMENT, loan, actor=actor, at=at)
    return loan
