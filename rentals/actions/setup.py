"""Kit types with their contents lines, and the practice itself."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.db.models import Max
from django.utils import timezone

from rentals import transaction
from rentals.errors import Refused
from rentals.models import ContentsLine, Kit, KitType, LineFacts, Practice, RemovedLine
from rentals.planning.contents_line import check_line
from rentals.selectors.begun_parcels import parcels_with
from rentals.selectors.contents import NEVER_TESTED, PARTS_TO_FIT, free_by_kind

from .packing_list import follow_contents, lock_open_lists


@transaction.atomic
def save_kit_type(kit_type: KitType) -> KitType:
    """Keep a new or changed kit type."""
    kit_type.save()
    return kit_type


@transaction.atomic
def save_line(line: ContentsLine) -> ContentsLine:
    """Keep a new or changed contents line; a new one goes to the end. Packed lists are frozen and
    do not change.

    Raises
    ------
    Refused
        If the line is single-use and yet comes back or is cleaned.
    """
    KitType.objects.select_for_update(no_key=True).get(pk=line.kit_type_id)
    unfinished = _unfinished_kits(line.kit_type_id)
    check_line(
        single_use=line.single_use, comes_back=line.comes_back, cleaned=line.cleaned_between_users
    )
    if line.tracked_by == ContentsLine.Tracked.SERIAL:
        line.stock_item = None
    if line.pk is None:
        last = ContentsLine.objects.filter(kit_type=line.kit_type_id).aggregate(last=Max("order"))[
            "last"
        ]
        line.order = 0 if last is None else last + 1
    line.save()
    follow_contents(line.kit_type_id)
    _send_whole_ones_to_bench(unfinished)
    return line


@transaction.atomic
def remove_line(
    line: ContentsLine, *, also_from: Iterable[int] = (), at: datetime | None = None
) -> RemovedLine:
    """Take a line off the contents list and off the open packing lists; `put_back_line` undoes it.

    A parcel that is already begun goes on packing it, but for those whose loans `also_from` names
    by key.

    Raises
    ------
    Refused
        If it was removed already.
    """
    KitType.objects.select_for_update(no_key=True).get(pk=line.kit_type_id)
    unfinished = _unfinished_kits(line.kit_type_id)
    if not ContentsLine.objects.filter(pk=line.pk).exists():
        raise Refused(f"{line.name} was taken off this list already.")
    lock_open_lists(line.kit_type_id)
    begun = {parcel.loan_pk for parcel in parcels_with(line) if parcel.begun}
    removed = RemovedLine.objects.create(**_facts_of(line), removed_at=at or timezone.now())
    removed.still_packed_in.set(begun - set(also_from))
    line.delete()
    follow_contents(line.kit_type_id)
    _send_whole_ones_to_bench(unfinished)
    return removed


def _unfinished_kits(kit_type_id: int) -> list[Kit]:
    """New kits that still lack parts, locked: before the packing lists, as fitting locks them."""
    kits = Kit.objects.filter(kit_type=kit_type_id, not_cleared_reason=PARTS_TO_FIT)
    return list(kits.select_for_update().order_by("pk"))


def _send_whole_ones_to_bench(kits: Iterable[Kit]) -> None:
    """A kit that lacked only what its list no longer wants has its first test before it."""
    for kit in kits:
        if not any(free_by_kind(kit).values()):
            kit.not_cleared_reason = NEVER_TESTED
            kit.save(update_fields=["not_cleared_reason"])


@transaction.atomic
def put_back_line(removed: RemovedLine) -> ContentsLine:
    """Put a removed line back in its place; open packing lists get it back.

    Raises
    ------
    Refused
        If it was put back already.
    """
    KitType.objects.select_for_update(no_key=True).get(pk=removed.kit_type_id)
    if not RemovedLine.objects.filter(pk=removed.pk).exists():
        raise Refused(f"{removed.name} is back on the list already.")
    line = ContentsLine.objects.create(**_facts_of(removed))
    removed.delete()
    follow_contents(line.kit_type_id)
    return line


def _facts_of(line: ContentsLine | RemovedLine) -> dict[str, Any]:
    """All that both kinds of line say of their pieces."""
    facts = [field.attname for field in LineFacts._meta.fields]
    return {name: getattr(line, name) for name in (*facts, "kit_type_id", "stock_item_id")}


@transaction.atomic
def move_line(line: ContentsLine, *, up: bool) -> None:
    """Pack a line one place earlier or later."""
    KitType.objects.select_for_update(no_key=True).get(pk=line.kit_type_id)
    lines = list(ContentsLine.objects.filter(kit_type=line.kit_type_id).order_by("order", "pk"))
    place = next(n for n, row in enumerate(lines) if row.pk == line.pk)
    new_place = place - 1 if up else place + 1
    if not 0 <= new_place < len(lines):
        return
    lines[place], lines[new_place] = lines[new_place], lines[place]
    for order, row in enumerate(lines):
        row.order = order
    ContentsLine.objects.bulk_update(lines, ["order"])
    follow_contents(line.kit_type_id)


@transaction.atomic
def save_practice(practice: Practice) -> Practice:
    """Keep who lends the kits."""
    practice.pk = 1
    practice.save()
    return practice
