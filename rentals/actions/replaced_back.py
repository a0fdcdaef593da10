"""What was replaced in the field comes back: by itself, or with the kit at the end."""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone

from rentals import transaction
from rentals.dates import short_date
from rentals.errors import Refused
from rentals.models import Kit, Loan, Part, Replacement, ReturnCheck, ReturnLine
from rentals.next_acts import may_replace_part
from rentals.selectors.contents import has_room_for
from rentals.states import LoanStage, PartPlace, ReturnOutcome

from .lock_order import lock_in_order
from .part_end import PLACE_FIELDS, put_in_place
from .record import Actor
from .register import fit_part, lock_part, mark_damaged, remove_part
from .replace_part import cancel_replacement
from .replacement_events import lock_replacement, record_replacement

Outcome = ReturnOutcome
_LOOSE = {
    Outcome.BACK: Part.Place.SPARE,
    Outcome.DAMAGED: Part.Place.REPAIR,
    Outcome.MISSING: Part.Place.MISSING,
}


@transaction.atomic
def note_faulty_back(
    replacement: Replacement, *, actor: Actor = None, at: datetime | None = None
) -> Replacement:
    """The faulty part has come by itself, ahead of the kit. Safe to repeat.

    Raises
    ------
    Refused
        If the kit is not with the student any more, or the part does not come back.
    """
    replacement = lock_replacement(replacement)
    if replacement.faulty_back_at:
        return replacement
    faulty = replacement.faulty
    if not faulty.comes_back or not may_replace_part(LoanStage(replacement.loan.stage)):
        raise Refused(f"{faulty.name}: look at it on the check of its kit.")
    replacement.faulty_back_at = at or timezone.now()
    replacement.save(update_fields=["faulty_back_at"])
    if faulty.part is not None:
        mark_damaged(faulty.part, replacement.why, actor=actor, at=at)
    text = f"{faulty.name} {faulty.part_code}".rstrip() + ", the faulty one, is here by itself."
    record_replacement(replacement, "faulty_back", text, actor=actor, at=at)
    return replacement


def begin_with_replaced(check: ReturnCheck, *, actor: Actor, at: datetime) -> None:
    """When a kit has come: what was to be sent goes no more, and faulty lines that are here count
    as back.
    """
    replacements = check.loan.replacements.filter(cancelled_at__isnull=True)
    for replacement in replacements.select_related("loan"):
        if replacement.sent_at is None:
            cancel_replacement(replacement, actor=actor, at=at)
        elif replacement.faulty_back_at is not None:
            day = short_date(timezone.localtime(replacement.faulty_back_at).date())
            lines = ReturnLine.objects.filter(check_of=check, packing_line=replacement.faulty_id)
            lines.filter(outcome=Outcome.OPEN).update(
                outcome=Outcome.BACK,
                quantity_back=replacement.faulty.quantity,
                cleaned=True,
                charged=True,
                note=f"The faulty one; it came by itself on {day}.",
            )


def book_replaced(loan: Loan, kit: Kit, *, actor: Actor, at: datetime) -> None:
    """When a check is finished: faulty parts that are here leave the kit for repair, and what was
    sent in their place takes it, where it is back and sound.
    """
    sent = loan.replacements.filter(sent_at__isnull=False, part__isnull=False)
    rows = list(sent.select_related("faulty__part", "faulty__return_line", "part"))
    faulty = {row.faulty.part_id for row in rows}
    for row in rows:
        if row.faulty.return_line.outcome != Outcome.MISSING and row.faulty.part is not None:
            _to_repair(row.faulty.part, kit, row.why, actor=actor, at=at)
    for row in rows:
        line = ReturnLine.objects.get(packing_line__sent_with=row)
        if row.part is not None and row.part_id not in faulty:
            _home(row.part, kit, Outcome(line.outcome), line.note, actor=actor, at=at)


def _to_repair(part: Part, kit: Kit, why: str, *, actor: Actor, at: datetime) -> None:
    part = lock_part(part)
    if not part.damaged:
        part = mark_damaged(part, why, actor=actor, at=at)
    if part.kit_id == kit.pk:
        reason = f"replaced in the field, {why}"
        remove_part(kit, part, to=Part.Place.REPAIR, reason=reason, actor=actor, at=at)
    elif part.place == Part.Place.SENT:
        _put(part, Part.Place.REPAIR, at)


def _home(
    part: Part, kit: Kit, outcome: ReturnOutcome, note: str, *, actor: Actor, at: datetime
) -> None:
    part = lock_part(part)
    _put(part, _LOOSE[outcome], at)
    if outcome is Outcome.DAMAGED:
        mark_damaged(part, note, actor=actor, at=at)
    elif outcome is Outcome.BACK and has_room_for(kit, part.kind):
        fit_part(kit, part, actor=actor, at=at)


def lose_replaced(loan: Loan, *, actor: Actor, at: datetime) -> None:
    """When a kit is given up: what was to be sent goes no more, what was sent is lost with it, and
    faulty parts that are here wait for repair.
    """
    for row in loan.replacements.filter(cancelled_at__isnull=True).select_related("loan"):
        if row.sent_at is None:
            cancel_replacement(row, actor=actor, at=at)
            continue
        if row.faulty_back_at and row.faulty.part is not None:
            _put(lock_part(row.faulty.part), Part.Place.REPAIR, at)
    gone = Part.objects.filter(packing_lines__loan=loan, place=Part.Place.SENT)
    for part in lock_in_order(gone):
        _put(part, Part.Place.LOST, at)


def _put(part: Part, to: PartPlace, at: datetime) -> None:
    put_in_place(part, to, at=at)
    part.save(update_fields=PLACE_FIELDS)
