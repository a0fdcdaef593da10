"""Kit types with their contents lines, and the practice itself."""

from __future__ import annotations

from django.db import transaction
from django.db.models import Max

from rentals.models import ContentsLine, KitType, Practice
from rentals.planning.contents_line import check_line

from .packing_list import follow_contents


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
    KitType.objects.select_for_update().get(pk=line.kit_type_id)
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
    return line


@transaction.atomic
def remove_line(line: ContentsLine) -> None:
    """Take a line off the contents list."""
    line.delete()
    follow_contents(line.kit_type_id)


@transaction.atomic
def move_line(line: ContentsLine, *, up: bool) -> None:
    """Pack a line one place earlier or later."""
    KitType.objects.select_for_update().get(pk=line.kit_type_id)
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
