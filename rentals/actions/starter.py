"""A kit type from the ready list: type, contents and the stock that is here, in one step."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db import IntegrityError

from rentals import transaction
from rentals.errors import Refused
from rentals.models import ContentsLine, KitType, StockItem
from rentals.planning.starter import ChosenLine

from .record import Actor
from .restock import restock, save_item

#: The form's field beside which a refusal of the stock stands.
_FIELD_OF = {"quantity": "here", "batch_number": "batch", "expires_on": "expires"}


@transaction.atomic
def make_kit_type(
    name: str,
    instructions: str,
    lines: Sequence[ChosenLine],
    *,
    actor: Actor = None,
    at: datetime | None = None,
) -> KitType:
    """A kit type with the lines that were chosen. A stock item that is on file under a line's name
    is taken; else one is made where its pieces were counted.

    Raises
    ------
    Refused
        If the name is taken, no line is left, or the stock refuses its pieces; its field is that of
        the line in the form.
    """
    if not lines:
        raise Refused("Every line is left out: leave at least one in the kit.")
    kit_type = _named(name, instructions)
    ContentsLine.objects.bulk_create(
        _contents_line(kit_type, order, line, _stock_of(line, actor=actor, at=at))
        for order, line in enumerate(lines)
    )
    return kit_type


def _named(name: str, instructions: str) -> KitType:
    taken = Refused(f"There is a kit type {name} already. Give another name.", field="name")
    if KitType.objects.filter(name__iexact=name).exists():
        raise taken
    try:
        with transaction.atomic():
            return KitType.objects.create(name=name, instructions=instructions)
    except IntegrityError as meanwhile:
        raise taken from meanwhile


def _contents_line(
    kit_type: KitType, order: int, line: ChosenLine, item: StockItem | None
) -> ContentsLine:
    proposed, tracked = line.proposed, ContentsLine.Tracked
    return ContentsLine(
        kit_type=kit_type,
        order=order,
        part_kind=proposed.part_kind,
        name=line.name,
        quantity=line.quantity,
        tracked_by=tracked.SERIAL if line.by_serial else tracked.COUNT,
        comes_back=proposed.comes_back,
        single_use=proposed.single_use,
        cleaned_between_users=proposed.cleaned,
        replacement_price=line.price,
        mass_g=proposed.mass_g,
        days_beyond_due=proposed.days_beyond_due,
        inner_bag=proposed.inner_bag,
        stock_item=item,
    )


def _stock_of(line: ChosenLine, *, actor: Actor, at: datetime | None) -> StockItem | None:
    """The item that a counted line is taken from, with the pieces that are here added to it."""
    if line.proposed.serial:
        return None
    item = StockItem.objects.select_for_update().filter(name__iexact=line.name).first()
    if item is None and line.here is None:
        return None
    if item is not None and item.kind != line.proposed.part_kind:
        raise Refused(
            f"{item.name} is on file as {item.get_kind_display().lower()}. Give another name.",
            field=f"{line.proposed.key}_name",
        )
    try:
        item = item or _new_item(line, actor=actor, at=at)
        if line.here:
            restock(
                item,
                line.here,
                batch_number=line.batch,
                expires_on=line.expires_on,
                actor=actor,
                at=at,
            )
    except Refused as refusal:
        field = _FIELD_OF.get(refusal.field, "here")
        raise Refused(refusal.sentence, field=f"{line.proposed.key}_{field}") from refusal
    return item


def _new_item(line: ChosenLine, *, actor: Actor, at: datetime | None) -> StockItem:
    """A new stock item; it asks to be reordered once less than one kit can be packed from it."""
    proposed = line.proposed
    item = StockItem(
        name=line.name,
        kind=proposed.part_kind,
        by_batch=proposed.by_batch,
        reorder_point=line.quantity,
    )
    return save_item(item, actor=actor, at=at)
