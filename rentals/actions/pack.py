"""Packing: draw up the list, tick it line by line, freeze it, and undo."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from rentals.codes import parse_code
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import (
    ContentsLine,
    ElectrodeBatch,
    Kit,
    Loan,
    LoanStage,
    Message,
    PackingLine,
    Part,
)
from rentals.selectors.contents import against_issuing, pieces_of

from .discard import discard_unsent
from .draft import draft_by_itself
from .issue import lock_open_loan
from .record import Actor, lock_kit, record_kit, state_word
from .restock import put_back, take


def _copied(line: ContentsLine, loan: Loan, quantity: int, part: Part | None = None) -> PackingLine:
    copy = PackingLine(
        loan=loan,
        order=line.order,
        inner_bag=line.inner_bag,
        part_kind=line.part_kind,
        name=line.name,
        quantity=quantity,
        comes_back=line.comes_back,
        single_use=line.single_use,
        cleaned_between_users=line.cleaned_between_users,
        replacement_price=line.replacement_price,
        mass_g=line.mass_g,
        stock_item_id=line.stock_item_id,
        origin=line.origin,
    )
    if part is not None:
        copy.part, copy.part_code, copy.serial = part, part.code, part.serial
    return copy


def _wanted_lines(loan: Loan) -> list[PackingLine]:
    """Packing lines as the kit's type and its fitted parts ask for them now, unsaved."""
    return [_copied(piece.line, loan, piece.quantity, piece.part) for piece in pieces_of(loan.kit)]


def _same(one: PackingLine, other: PackingLine) -> bool:
    facts = ("part_kind", "name", "quantity", "part_id", "stock_item_id", "inner_bag")
    return all(getattr(one, fact) == getattr(other, fact) for fact in facts)


def _as_wanted(one: PackingLine, other: PackingLine) -> bool:
    """Whether a drawn-up line also says the same of the piece: a list must go out with the prices
    of its day.
    """
    facts = (
        "order",
        "comes_back",
        "single_use",
        "cleaned_between_users",
        "replacement_price",
        "mass_g",
        "origin",
    )
    return _same(one, other) and all(getattr(one, fact) == getattr(other, fact) for fact in facts)


@transaction.atomic
def draw_up(kit: Kit) -> Loan:
    """Draw up an assigned kit's packing list, or bring it up to date with its parts; ticks that
    still hold stay.
    """
    kit = lock_kit(kit)
    loan = lock_open_loan(kit)
    if loan.stage != LoanStage.ASSIGNED:
        return loan
    have, wanted = list(loan.packing_lines.all()), _wanted_lines(loan)
    if len(have) == len(wanted) and all(
        _as_wanted(a, b) for a, b in zip(have, wanted, strict=True)
    ):
        return loan
    for line in wanted:
        twin = next((old for old in have if _same(old, line) and old.ticked_at), None)
        if twin is not None:
            have.remove(twin)
            line.ticked_at = twin.ticked_at
    loan.packing_lines.all().delete()
    PackingLine.objects.bulk_create(wanted)
    return loan


@transaction.atomic
def tick(line: PackingLine, *, on: bool = True, at: datetime | None = None) -> PackingLine:
    """Tick or untick one line of a list that is not frozen yet."""
    loan = Loan.objects.select_for_update().get(pk=line.loan_id)
    if loan.stage != LoanStage.ASSIGNED:
        raise Refused(
            f"The packing list of kit {loan.kit.code} is frozen: unpack the kit to change it."
        )
    line = PackingLine.objects.get(pk=line.pk)
    line.ticked_at = (line.ticked_at or at or timezone.now()) if on else None
    line.save(update_fields=["ticked_at"])
    return line


@dataclass(frozen=True)
class Scanned:
    """What a scan at the packing bench was understood as; `line` is the line it ticked."""

    text: str
    line: PackingLine | None = None


@transaction.atomic
def scan_part(kit: Kit, text: str, *, at: datetime | None = None) -> Scanned:
    """Tick the line of a scanned part.

    Raises
    ------
    Refused
        If the code is unreadable, unknown, or the part belongs elsewhere: says whose it is.
    """
    loan = draw_up(kit)
    try:
        code = parse_code(text)
    except ValueError as unreadable:
        raise Refused(str(unreadable), field="scan") from unreadable
    if code == kit.code:
        return Scanned(f"That is the kit's own label, {code}. Scan its parts.")
    part = Part.objects.filter(code=code).select_related("kit").first()
    if part is None:
        other = Kit.objects.filter(code=code).first()
        what = (
            f"Code {code} is another kit, not {kit.code}."
            if other
            else f"No part has the code {code}."
        )
        raise Refused(f"{what} Put it aside and scan the right part.", field="scan")
    line = loan.packing_lines.filter(part=part).first()
    if line is None:
        raise Refused(
            f"Wrong part: {_whose(part)} It does not go into kit {kit.code}.", field="scan"
        )
    if line.ticked_at:
        return Scanned(f"{line.name} {part.code} was ticked already.", line)
    return Scanned(f"{line.name} {part.code} ticked.", tick(line, at=at))


def _whose(part: Part) -> str:
    name = f"{part.get_kind_display()} {part.code}"
    if part.kit is not None:
        return f"{name} belongs to kit {part.kit.code}."
    return f"{name} is {part.get_place_display()}."


def list_hash(loan: Loan) -> str:
    """SHA-256 over the frozen packing list, so that a later change of it shows."""
    facts = [
        [
            line.order,
            line.inner_bag,
            line.part_kind,
            line.name,
            line.quantity,
            line.comes_back,
            line.single_use,
            str(line.replacement_price.normalize()),
            line.mass_g,
            line.part_code,
            line.serial,
            line.batch_number,
            str(line.expires_on or ""),
        ]
        for line in loan.packing_lines.order_by("order", "pk")
    ]
    return hashlib.sha256(json.dumps(facts).encode()).hexdigest()


def _take_stock(loan: Loan, on: datetime) -> None:
    """Take every counted line from stock; a line served from two batches becomes two lines."""
    day = timezone.localdate(on)
    for line in loan.packing_lines.filter(stock_item__isnull=False).select_related("stock_item"):
        item = line.stock_item
        assert item is not None
        (batch, pieces), *more = take(item, line.quantity, on=day)
        _of_batch(line, batch, pieces).save()
        for batch, pieces in more:
            line.pk = None
            line._state.adding = True
            _of_batch(line, batch, pieces).save()


def _of_batch(line: PackingLine, batch: ElectrodeBatch | None, pieces: int) -> PackingLine:
    line.batch, line.quantity = batch, pieces
    line.batch_number = batch.batch_number if batch else ""
    line.expires_on = batch.expires_on if batch else None
    return line


@transaction.atomic
def pack(
    kit: Kit, *, parcel_mass_g: int | None = None, actor: Actor = None, at: datetime | None = None
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
    against = [] if kit.override_reason else against_issuing(kit)
    if against:
        raise Refused(f"Kit {kit.code} may not go out. {' '.join(against)}", field="gate")
    draw_up(kit)
    open_lines = list(loan.packing_lines.filter(ticked_at__isnull=True))
    if open_lines:
        names = ", ".join(line.name for line in open_lines[:6]) + (
            " and more" if len(open_lines) > 6 else ""
        )
        raise Refused(f"{len(open_lines)} not ticked yet: {names}.", field="lines")
    if not loan.packing_lines.exists():
        raise Refused(
            f"Kit {kit.code} has nothing to pack: give its kit type a contents list.", field="lines"
        )
    _take_stock(loan, at)
    lines = loan.packing_lines.all()
    loan.parcel_mass_g = parcel_mass_g or sum(line.mass_g * line.quantity for line in lines) or None
    loan.stage, loan.packed_at = LoanStage.PACKED, at
    loan.cleared_at_packing = (kit.cleared_at or at) if kit.cleared else None
    loan.packing_list_hash = list_hash(loan)
    loan.save()
    record_kit(
        kit,
        Verb.PACKED,
        f"Packed for {loan.enrolment.student.name}: {len(lines)} lines.",
        actor=actor,
        loan=loan,
        data={"packing_list": loan.packing_list_hash},
        at=at,
    )
    draft_by_itself(Message.Occasion.PACKING_LIST, loan, actor=actor, at=at)
    return loan


@transaction.atomic
def unpack(kit: Kit, *, reason: str = "", actor: Actor = None, at: datetime | None = None) -> Loan:
    """Open a packed parcel again: stock goes back, the list can be changed."""
    kit = lock_kit(kit)
    loan = lock_open_loan(kit)
    if loan.stage != LoanStage.PACKED:
        raise Refused(f"Kit {kit.code} is {state_word(kit)}: only a packed kit can be unpacked.")
    for line in loan.packing_lines.filter(stock_item__isnull=False).select_related(
        "stock_item", "batch"
    ):
        put_back(line.stock_item, line.quantity, line.batch)
    loan.stage, loan.packed_at, loan.cleared_at_packing, loan.packing_list_hash = (
        LoanStage.ASSIGNED,
        None,
        None,
        "",
    )
    loan.parcel_mass_g = None
    loan.save()
    loan.packing_lines.all().delete()
    because = f": {reason}" if reason else ""
    record_kit(kit, Verb.UNPACKED, f"Unpacked{because}.", actor=actor, loan=loan, at=at)
    discard_unsent(loan, [Message.Occasion.PACKING_LIST], reason="The kit was unpacked.", at=at)
    return loan
