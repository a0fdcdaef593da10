"""The packing list of an assigned kit: drawn up on assignment, kept up to date while its parts or
its type's contents change, frozen when the parcel is closed.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Sequence
from operator import attrgetter
from typing import Any

from rentals import transaction
from rentals.errors import Refused
from rentals.models import (
    ContentsLine,
    Kit,
    KitType,
    Loan,
    LoanStage,
    LoanStep,
    PackingLine,
    Part,
    RemovedLine,
    ReturnStep,
)
from rentals.planning.contents import Piece
from rentals.selectors.contents import pieces_for, pieces_of, pieces_of_kits

from .record import lock_kit, lock_open_loan

#: What makes two lines the same thing in the parcel: a tick of one holds for the other.
SAME_THING = ("part_kind", "name", "quantity", "part_id", "stock_item_id", "inner_bag")
#: What a line also says of its thing: a list must go out with the prices of its day.
SAID_OF_IT = (
    "order",
    "comes_back",
    "single_use",
    "cleaned_between_users",
    "replacement_price",
    "mass_g",
    "days_beyond_due",
    "origin",
    "tariff_number",
)
#: What the lists of many loans are drawn up from.
FOR_LISTS = ("packing_lines", "lines_still_packed", "kit__parts", "kit__kit_type__lines")


@transaction.atomic
def draw_up(kit: Kit) -> Loan:
    """Draw up an assigned kit's packing list, or bring it up to date; ticks that still hold stay.

    Raises
    ------
    Refused
        If the kit is on no loan.
    """
    kit = lock_kit(kit)
    loan = lock_open_loan(kit)
    if loan.stage == LoanStage.ASSIGNED:
        bring_up_to_date(loan)
    return loan


def follow_parts(kit: Kit) -> None:
    """Bring the list of a locked kit up to date with its parts, where it is assigned."""
    loans = Loan.objects.select_for_update(of=("self",), no_key=True).select_related(
        "kit__kit_type"
    )
    loan = loans.filter(kit=kit, stage=LoanStage.ASSIGNED).first()
    if loan is not None:
        bring_up_to_date(loan)


def follow_contents(kit_type: KitType | int) -> None:
    """Bring the lists of all assigned kits of a type up to date with its contents lines."""
    for loan in lock_open_lists(kit_type):
        bring_up_to_date(loan)


def lock_open_lists(kit_type: KitType | int) -> list[Loan]:
    """The loans of a type whose lists are not frozen, locked: nobody ticks a line meanwhile."""
    loans = Loan.objects.select_for_update(of=("self",), no_key=True).select_related(
        "kit__kit_type"
    )
    loans = loans.filter(stage=LoanStage.ASSIGNED, kit__kit_type=kit_type).order_by("pk")
    return list(loans.prefetch_related(*FOR_LISTS))


def draw_up_missing() -> int:
    """Draw up the lists of assigned kits that have none; returns how many that were.

    Assigning a kit draws up its list, so these were assigned before that was so. Safe to repeat.
    """
    without_list = Kit.objects.filter(
        loans__stage=LoanStage.ASSIGNED,
        loans__packing_lines__isnull=True,
        kit_type__lines__isnull=False,
    )
    drawn = 0
    for kit in without_list.distinct():
        try:
            drawn += draw_up(kit).packing_lines.exists()
        except Refused:  # Taken back from its student since it was looked up.
            continue
    return drawn


def bring_up_to_date(loan: Loan) -> list[PackingLine]:
    """The lines of a locked, assigned loan as the kit's type and parts ask for them now.

    A list that is as wanted is left alone; any other is written anew, and its ticks that still hold
    stay.
    """
    lines = list(loan.packing_lines.all())
    if _as_asked_for(lines, _copies(pieces_of(loan.kit), loan)):
        return lines
    # Only a list that is otherwise can hold what was taken off the contents while it was begun.
    new_lines = _copies(pieces_for(loan), loan)
    if _as_asked_for(lines, new_lines):
        return lines
    ticked = [line for line in lines if line.ticked_at]
    for line in new_lines:
        twin = next((old for old in ticked if _alike(old, line, SAME_THING)), None)
        if twin is not None:
            ticked.remove(twin)
            line.ticked_at = twin.ticked_at
    loan.packing_lines.all().delete()
    return PackingLine.objects.bulk_create(new_lines)


def draw_up_new(loans: Sequence[Loan]) -> list[PackingLine]:
    """Draw up the lists of loans that were made just now, whose kits are locked: as
    `bring_up_to_date` does, in few queries for all.
    """
    wanted = pieces_of_kits([loan.kit for loan in loans])
    lines = [line for loan in loans for line in _copies(wanted[loan.kit_id], loan)]
    return PackingLine.objects.bulk_create(lines)


def _as_asked_for(lines: Sequence[PackingLine], new_lines: Sequence[PackingLine]) -> bool:
    return len(lines) == len(new_lines) and all(
        _alike(line, new_line, SAME_THING + SAID_OF_IT)
        for line, new_line in zip(lines, new_lines, strict=True)
    )


def _alike(line: PackingLine, second_line: PackingLine, facts: Sequence[str]) -> bool:
    return all(getattr(line, fact) == getattr(second_line, fact) for fact in facts)


def _copies(pieces: Iterable[Piece[Any, Any]], loan: Loan) -> list[PackingLine]:
    """Packing lines for what the kit's type and its fitted parts ask for now, unsaved."""
    return [_copied(piece.line, loan, piece.quantity, piece.part) for piece in pieces]


def _copied(
    line: ContentsLine | RemovedLine, loan: Loan, quantity: int, part: Part | None = None
) -> PackingLine:
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
        days_beyond_due=line.days_beyond_due,
        stock_item_id=line.stock_item_id,
        origin=line.origin,
        tariff_number=line.tariff_number,
    )
    if part is not None:
        copy.part, copy.part_code, copy.serial = part, part.code, part.serial
    return copy


def freeze_steps(loan: Loan) -> list[LoanStep]:
    """Keep the steps that the kit type asks for today after the return of a loan."""
    asked = ReturnStep.objects.filter(kit_type=loan.kit.kit_type_id)
    return LoanStep.objects.bulk_create(
        LoanStep(loan=loan, order=order, kind=step.kind, words=step.words, part_kind=step.part_kind)
        for order, step in enumerate(asked)
    )


def first_lines(loan: Loan) -> list[PackingLine]:
    """The lines of the parcel in which the kit went out, without what was sent later."""
    return [line for line in loan.packing_lines.all() if line.sent_with_id is None]


#: What counts of a line of a frozen list, and of a step after the return.
LINE_FACTS = (
    "order",
    "inner_bag",
    "part_kind",
    "name",
    "quantity",
    "comes_back",
    "single_use",
    "replacement_price",
    "mass_g",
    "part_code",
    "serial",
    "batch_number",
    "expires_on",
)
STEP_FACTS = ("kind", "words", "part_kind")
_OF_A_LINE, _OF_A_STEP = attrgetter(*LINE_FACTS), attrgetter(*STEP_FACTS)


def list_hash(lines: Iterable[PackingLine], steps: Iterable[LoanStep] = ()) -> str:
    """SHA-256 over a frozen packing list and the steps after its return, so that a later change
    shows.
    """
    return hashlib.sha256(list_text(lines, steps).encode()).hexdigest()


def list_text(lines: Iterable[PackingLine], steps: Iterable[LoanStep] = ()) -> str:
    """What `list_hash` is over."""
    ordered = sorted(lines, key=lambda line: (line.order, line.pk))
    return text_of_list(map(_OF_A_LINE, ordered), map(_OF_A_STEP, steps))


def text_of_list(lines: Iterable[Sequence[Any]], steps: Iterable[Sequence[Any]]) -> str:
    """The same of the columns `LINE_FACTS` and `STEP_FACTS`, by order and number."""
    return list_of_texts([*map(text_of_line, lines), *map(text_of_step, steps)])


def list_of_texts(texts: Iterable[str]) -> str:
    """The same of what `text_of_line` and `text_of_step` tell of each."""
    return f"[{', '.join(texts)}]"


def text_of_line(line: Sequence[Any]) -> str:
    """What counts of a line, as JSON."""
    return json.dumps([*line[:7], str(line[7].normalize()), *line[8:12], str(line[12] or "")])


def text_of_step(step: Sequence[Any]) -> str:
    """What counts of a step, as JSON."""
    return json.dumps(["step", *step])
