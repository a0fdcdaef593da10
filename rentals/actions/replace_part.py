"""A part for a student whose own is faulty, sent while the kit stays with them."""

from __future__ import annotations

import copy
from datetime import date, datetime, timedelta

from django.db.models import Max
from django.utils import timezone

from rentals import transaction
from rentals.dates import short_date
from rentals.errors import Refused
from rentals.models import Loan, PackingLine, Part, Replacement
from rentals.next_acts import may_replace_part
from rentals.states import LoanStage

from .dispatch import tracking_as_kept
from .record import Actor, lock_kit
from .register import lock_part
from .replacement_events import lock_replacement, record_replacement
from .restock import take_together


@transaction.atomic
def ask_replacement(
    line: PackingLine,
    *,
    why: str,
    part: Part | str | None = None,
    quantity: int = 1,
    back_by: date | None = None,
    actor: Actor = None,
    at: datetime | None = None,
) -> Replacement:
    """Put down that a part goes out in place of a faulty line: a spare with a serial, or pieces of
    the line's stock. The faulty one is due by itself on `back_by`, else it comes with the kit.

    Raises
    ------
    Refused
        If the kit is not with the student, the line is replaced already, no reason is given, or
        there is nothing fit to send.
    """
    lock_kit(line.loan.kit_id)
    loan = Loan.objects.select_for_update(no_key=True).get(pk=line.loan_id)
    line = PackingLine.objects.select_related("stock_item").get(pk=line.pk)
    why = " ".join(why.split())[:300].rstrip(".")
    if not may_replace_part(LoanStage(loan.stage)):
        raise Refused("A replacement goes to a student who has the kit.", field="line")
    if Replacement.objects.filter(faulty=line, cancelled_at__isnull=True).exists():
        raise Refused(
            f"{line.name} is replaced already. Replace what was sent in its place.", field="line"
        )
    if not why:
        raise Refused("Say what is wrong with it.", field="why")
    if back_by and not line.comes_back:
        raise Refused(f"{line.name} is used up: it does not come back.", field="back_by")
    if back_by and back_by < timezone.localdate(at):
        raise Refused("The faulty part cannot be due back before today.", field="back_by")
    replacement = Replacement(loan=loan, faulty=line, why=why, back_by=back_by)
    replacement.asked_at = at or timezone.now()
    if line.part_id:
        replacement.part = _sound_spare(line, part)
    else:
        replacement.stock_item, replacement.quantity = line.stock_item, _pieces(line, quantity)
    replacement.save()
    due = f"due back by itself on {short_date(back_by)}" if back_by else "comes back with the kit"
    expected = f" The faulty one {'is ' if back_by else ''}{due}." if line.comes_back else ""
    text = f"{line.name} is faulty: {why}. {replacement} goes out in its place.{expected}"
    record_replacement(replacement, "asked", text, actor=actor, at=at)
    return replacement


def _sound_spare(line: PackingLine, part: Part | str | None) -> Part:
    if not part:
        raise Refused(f"Scan or type the spare that goes in place of {line.name}.", field="part")
    part = lock_part(part)
    name = f"{part.get_kind_display()} {part.code}"
    if part.kind != line.part_kind:
        raise Refused(f"{name} cannot stand in for {line.name}: send like for like.", field="part")
    if part.place != Part.Place.SPARE or part.damaged:
        what = "damaged" if part.damaged else part.get_place_display()
        raise Refused(f"{name} is {what}, not a sound spare.", field="part")
    promised = Replacement.objects.filter(part=part, sent_at=None, cancelled_at=None)
    if promised.exists():
        raise Refused(f"{name} is promised to another student already.", field="part")
    return part


def _pieces(line: PackingLine, quantity: int) -> int:
    if line.stock_item is None:
        raise Refused(f"{line.name} is taken from no stock item: none can be sent.", field="line")
    if not 1 <= quantity <= line.quantity:
        raise Refused(f"{line.name}: send 1 to {line.quantity}.", field="quantity")
    return quantity


@transaction.atomic
def cancel_replacement(
    replacement: Replacement, *, actor: Actor = None, at: datetime | None = None
) -> Replacement:
    """Nothing goes out after all: the spare is free again.

    Raises
    ------
    Refused
        If it was sent already.
    """
    replacement = lock_replacement(replacement)
    if replacement.sent_at:
        raise Refused(f"{replacement} was sent already: it comes back with the kit.")
    replacement.cancelled_at = at or timezone.now()
    replacement.save(update_fields=["cancelled_at"])
    text = f"{replacement} does not go out after all."
    record_replacement(replacement, "cancelled", text, actor=actor, at=at)
    return replacement


@transaction.atomic
def send_replacement(
    replacement: Replacement,
    *,
    tracking_number: str = "",
    carrier: str = "",
    actor: Actor = None,
    at: datetime | None = None,
) -> Replacement:
    """The parcel with a replacement is handed over: what is in it becomes lines of the loan. Safe
    to repeat.

    Raises
    ------
    Refused
        If the kit is back, the spare is no sound spare any more, or stock is short.
    """
    replacement = lock_replacement(replacement)
    if replacement.sent_at:
        return replacement
    if not may_replace_part(LoanStage(replacement.loan.stage)):
        raise Refused("The kit is back: cancel the replacement.")
    replacement.sent_at = at or timezone.now()
    replacement.tracking_number = tracking_as_kept(tracking_number)
    replacement.carrier = carrier.strip()[:60]
    replacement.save(update_fields=["sent_at", "tracking_number", "carrier"])
    PackingLine.objects.bulk_create(_lines_sent(replacement))
    by = f" with {replacement.carrier}" if replacement.carrier else ""
    number = replacement.tracking_number
    text = f"{replacement} sent{by}{f', tracking number {number}' if number else ''}."
    record_replacement(replacement, "sent", text, actor=actor, at=at)
    return replacement


def _lines_sent(replacement: Replacement) -> list[PackingLine]:
    """What leaves the house with a replacement, off the shelf and as lines of its loan."""
    if replacement.part_id is not None:
        part = lock_part(Part.objects.get(pk=replacement.part_id))
        if part.place != Part.Place.SPARE or part.damaged:
            raise Refused(f"{part} is no sound spare any more: cancel this, and send another one.")
        part.place = Part.Place.SENT
        part.save(update_fields=["place"])
        return [line_to_send(replacement)]
    assert replacement.stock_item_id is not None
    due_on, faulty = replacement.loan.due_on, replacement.faulty
    until = {replacement.stock_item_id: due_on + timedelta(days=faulty.days_beyond_due)}
    (taken,) = take_together([(replacement.stock_item_id, replacement.quantity)], until=until)
    lines = []
    for served in taken:
        line = line_to_send(replacement)
        line.quantity, line.batch = served.pieces, served.batch
        line.batch_number = served.batch.batch_number if served.batch else ""
        line.expires_on = served.batch.expires_on if served.batch else None
        lines.append(line)
    return lines


def line_to_send(replacement: Replacement) -> PackingLine:
    """The line that a replacement becomes, unsaved: as the faulty one, with its own serial."""
    line = copy.copy(replacement.faulty)
    line.pk, line._state.adding = None, True
    last = PackingLine.objects.filter(loan=replacement.loan_id).aggregate(last=Max("order"))["last"]
    line.order, line.quantity, line.sent_with = last + 1, replacement.quantity, replacement
    part = replacement.part
    line.part, line.part_code = part, part.code if part else ""
    line.serial = part.serial if part else ""
    line.batch, line.batch_number, line.expires_on = None, "", None
    return line
