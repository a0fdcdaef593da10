"""Packing: tick the list line by line, close the parcel, and undo."""

from __future__ import annotations

import copy
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import cast

from django.db.models import prefetch_related_objects
from django.utils import timezone

from rentals import transaction
from rentals.counts import counted
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import Kit, Loan, LoanStage, Message, PackingLine, Part, StockItem
from rentals.planning.contents import mass_of
from rentals.selectors.contents import against_issuing
from rentals.selectors.packing import counted_rest
from rentals.selectors.part_scan import code_meant
from rentals.selectors.stock_short import short_of, wanted_of
from rentals.states import KitState

from .discard import discard_unsent
from .once import in_form_transaction
from .packing_list import bring_up_to_date, freeze_steps, list_hash
from .parcel_mail import write_of_parcel
from .record import Actor, lock_kit, lock_open_loan, record_kit, state_word
from .restock import StockTaken, put_back, take_together

NAMES_SHOWN = 6
OF_THE_BATCH = ("quantity", "batch", "batch_number", "expires_on")


@transaction.atomic
def tick(line: PackingLine, *, on: bool = True, at: datetime | None = None) -> PackingLine:
    """Tick or untick one line of a list that is not frozen yet; safe to repeat.

    Raises
    ------
    Refused
        If the list is frozen, or there are too few pieces of a counted line to tick it.
    """
    loan = (
        Loan.objects.select_for_update(of=("self",), no_key=True)
        .select_related("kit")
        .get(pk=line.loan_id)
    )
    line_now = PackingLine.objects.filter(pk=line.pk).first()
    if line_now is None:
        raise Refused(f"{line.name} is not on this packing list any more. Look at the list again.")
    _set_tick(line_now, loan, on=on, at=at)
    return line_now


def _set_tick(line: PackingLine, loan: Loan, *, on: bool, at: datetime | None) -> None:
    _check_still_to_pack(loan)
    if on and not line.ticked_at:
        _check_stock_reaches(line, loan, at or timezone.now())
    line.ticked_at = (line.ticked_at or at or timezone.now()) if on else None
    line.save(update_fields=["ticked_at"])


def _check_still_to_pack(loan: Loan) -> None:
    """Raise Refused where the kit was held or packed meanwhile."""
    if loan.stage != LoanStage.ASSIGNED:
        raise Refused(
            f"The packing list of kit {loan.kit.code} is frozen: unpack the kit to change it."
        )
    if loan.kit.state == KitState.HELD:
        raise Refused(f"Kit {loan.kit.code} was held meanwhile: {loan.kit.hold_reason}")


def _check_stock_reaches(line: PackingLine, loan: Loan, at: datetime) -> None:
    """Raise Refused where the parcel needs more of the line's item than may go out."""
    if line.stock_item_id is None:
        return
    of_the_item = loan.packing_lines.filter(stock_item=line.stock_item_id)
    short = short_of(of_the_item, timezone.localdate(at)).get(line.stock_item_id)
    if short is not None:
        hint = f" ({short.hint})" if short.hint else ""
        raise Refused(
            f"{line.name}: {short.words}{hint}. Restock {short.item.name} first.", field="stock"
        )


@in_form_transaction
def tick_counted(
    kit: Kit | str, *, actor: Actor = None, at: datetime | None = None
) -> list[PackingLine]:
    """Tick every line at once that is only counted and not ticked yet; a part with a serial stays
    to be scanned, and what stock does not reach for stays open. Safe to repeat.

    Returns the lines that were ticked.
    """
    kit = lock_kit(kit)
    loan = lock_open_loan(kit)
    listed = list(loan.packing_lines.all())
    lines = counted_rest(listed, short_of(listed, timezone.localdate(at)))
    for line in lines:
        _set_tick(line, loan, on=True, at=at)
    if lines:
        names = ", ".join(str(line) for line in lines)
        text = f"The counted rest is in: {names}."
        record_kit(kit, Verb.NOTED, text, actor=actor, loan=loan, at=at)
    return lines


@dataclass(frozen=True)
class Scanned:
    """What a scan at the packing bench was understood as; `line` is the line it ticked."""

    text: str
    line: PackingLine | None = None


@transaction.atomic
def scan_part(kit: Kit, text: str, *, at: datetime | None = None) -> Scanned:
    """Tick the line of a scanned part; safe to repeat.

    Raises
    ------
    Refused
        If the text is no code and no serial number, or the part belongs elsewhere: says whose it
        is.
    """
    kit = lock_kit(kit)
    loan = lock_open_loan(kit)
    code = code_meant(text, loan.packing_lines.all())
    if code == kit.code:
        return Scanned(f"That is the kit's own label, {code}. Scan its parts.")
    line = loan.packing_lines.filter(part_code=code).first()
    if line is None:
        raise Refused(_not_on_list(code, kit), field="scan")
    if line.ticked_at:
        return Scanned(f"{line.name} {code} was ticked already.", line)
    _set_tick(line, loan, on=True, at=at)
    return Scanned(f"{line.name} {code} ticked.", line)


def _not_on_list(code: str, kit: Kit) -> str:
    """What a code is that stands on no line of the kit's list."""
    part = Part.objects.filter(code=code).select_related("kit").first()
    if part is not None:
        return f"Wrong part: {_whose(part)} It does not go into kit {kit.code}."
    if Kit.objects.filter(code=code).exists():
        what = f"Code {code} is another kit, not {kit.code}."
    else:
        what = f"No part has the code {code}."
    return f"{what} Put it aside and scan the right part."


def _whose(part: Part) -> str:
    name = f"{part.get_kind_display()} {part.code}"
    if part.kit is not None:
        return f"{name} belongs to kit {part.kit.code}."
    return f"{name} is {part.get_place_display()}."


@in_form_transaction
def pack(
    kit: Kit | str,
    *,
    parcel_mass_g: int | None = None,
    actor: Actor = None,
    at: datetime | None = None,
) -> Loan:
    """Close the parcel: the gate is asked, stock is taken, the packing list is frozen.

    Raises
    ------
    Refused
        If the kit may not go out (says what lacks), a line is not ticked (names it), or stock is
        short.
    """
    kit = lock_kit(kit)
    loan = lock_open_loan(kit)
    at = at or timezone.now()
    if loan.stage == LoanStage.PACKED:
        return loan
    if loan.stage != LoanStage.ASSIGNED:
        raise Refused(f"Kit {kit.code} is {state_word(kit)} and cannot be packed.")
    prefetch_related_objects([kit], "parts", "kit_type__lines")
    _check_gate(kit)
    prefetch_related_objects([loan], "packing_lines")
    listed = list(loan.packing_lines.all())
    lines = bring_up_to_date(loan)
    _check_all_ticked(kit, lines)
    lines = _take_stock(lines, at)
    if lines != listed:
        _forget_lines(loan)
    _freeze(loan, lines, parcel_mass_g, at)
    text = f"Packed for {loan.enrolment.student.name}: {counted(len(lines), 'line', 'lines')}."
    frozen = {"packing_list": loan.packing_list_hash}
    record_kit(kit, Verb.PACKED, text, actor=actor, loan=loan, data=frozen, at=at)
    write_of_parcel(Message.Occasion.PACKING_LIST, loan, actor=actor, at=at)
    return loan


def _forget_lines(loan: Loan) -> None:
    """Let the loan's lines be loaded anew by whoever asks next."""
    loan.refresh_from_db(fields=["packing_lines"])


def _check_gate(kit: Kit) -> None:
    against = [] if kit.override_reason else against_issuing(kit)
    if against:
        raise Refused(f"Kit {kit.code} may not go out. {' '.join(against)}", field="gate")


def _check_all_ticked(kit: Kit, lines: Sequence[PackingLine]) -> None:
    if not lines:
        raise Refused(
            f"Kit {kit.code} has nothing to pack: give its kit type a contents list.", field="lines"
        )
    open_lines = [line.name for line in lines if not line.ticked_at]
    if open_lines:
        and_more = " and more" if len(open_lines) > NAMES_SHOWN else ""
        names = ", ".join(open_lines[:NAMES_SHOWN]) + and_more
        raise Refused(f"{len(open_lines)} not ticked yet: {names}.", field="lines")


def _take_stock(lines: Sequence[PackingLine], at: datetime) -> list[PackingLine]:
    """Take every counted line from stock; a line served from two batches becomes two lines.

    Returns all lines of the parcel.
    """
    counted = [line for line in lines if line.stock_item_id is not None]
    today = timezone.localdate(at)
    until = {item: latest for item, (_, latest) in wanted_of(counted, today).items()}
    orders = [(cast(int, line.stock_item_id), line.quantity) for line in counted]
    served = take_together(orders, until=until)
    further: list[PackingLine] = []
    for line, (first, *further_pieces) in zip(counted, served, strict=True):
        _serve_from(line, first)
        further += [_further_line(line, pieces) for pieces in further_pieces]
    PackingLine.objects.bulk_update(counted, OF_THE_BATCH)
    return [*lines, *PackingLine.objects.bulk_create(further)]


def _serve_from(line: PackingLine, pieces: StockTaken) -> None:
    line.batch, line.quantity = pieces.batch, pieces.pieces
    line.batch_number = pieces.batch.batch_number if pieces.batch else ""
    line.expires_on = pieces.batch.expires_on if pieces.batch else None


def _further_line(line: PackingLine, pieces: StockTaken) -> PackingLine:
    """The same line once more, for the pieces of a further batch."""
    further = copy.copy(line)
    further.pk = None
    further._state.adding = True
    _serve_from(further, pieces)
    return further


def _freeze(
    loan: Loan, lines: Sequence[PackingLine], parcel_mass_g: int | None, at: datetime
) -> None:
    """Write down that the parcel is closed, and what its list says."""
    kit = loan.kit
    listed_mass_g = mass_of(lines)
    loan.parcel_mass_g = parcel_mass_g or listed_mass_g or None
    loan.stage, loan.packed_at = LoanStage.PACKED, at
    loan.cleared_at_packing = (kit.cleared_at or at) if kit.cleared else None
    loan.packing_list_hash = list_hash(lines, freeze_steps(loan))
    loan.save()


@transaction.atomic
def unpack(
    kit: Kit | str, *, reason: str = "", actor: Actor = None, at: datetime | None = None
) -> Loan:
    """Open a packed parcel again: stock goes back, every line of the list is ticked anew."""
    kit = lock_kit(kit)
    loan = lock_open_loan(kit)
    if loan.stage != LoanStage.PACKED:
        raise Refused(f"Kit {kit.code} is {state_word(kit)}: only a packed kit can be unpacked.")
    counted = loan.packing_lines.filter(stock_item__isnull=False)
    for line in counted.select_related("stock_item", "batch"):
        put_back(cast(StockItem, line.stock_item), line.quantity, line.batch)
    loan.stage, loan.parcel_mass_g = LoanStage.ASSIGNED, None
    loan.packed_at, loan.cleared_at_packing, loan.packing_list_hash = None, None, ""
    loan.save()
    loan.packing_lines.all().delete()
    loan.return_steps.all().delete()
    bring_up_to_date(loan)
    because = f": {reason}" if reason else ""
    record_kit(kit, Verb.UNPACKED, f"Unpacked{because}.", actor=actor, loan=loan, at=at)
    discard_unsent(loan, [Message.Occasion.PACKING_LIST], reason="The kit was unpacked.", at=at)
    return loan
