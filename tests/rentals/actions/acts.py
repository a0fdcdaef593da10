"""What the tests of the loop do again and again."""

import pytest

from rentals.actions.dispatch import dispatch
from rentals.actions.pack import pack, tick
from rentals.actions.packing_list import draw_up
from rentals.actions.receive import (
    arrive,
    finish_check,
    note_line,
)
from rentals.errors import Refused
from rentals.models import ElectrodeBatch, Event, Shortfall, StockItem
from tests.factories import packed_loan


def stock_levels() -> dict[str, int]:
    items = {item.name: item.on_hand for item in StockItem.objects.filter(by_batch=False)}
    return items | {batch.batch_number: batch.on_hand for batch in ElectrodeBatch.objects.all()}


def all_back(check) -> None:
    for line in check.lines.select_related("packing_line"):
        if line.packing_line.comes_back:
            note_line(line, "back", cleaned=True, charged=True)


def pack_all(kit) -> None:
    for line in draw_up(kit).packing_lines.all():
        tick(line)
    pack(kit)


def events_after(act, sentence: str) -> int:
    """How many events a refused act wrote."""
    before = Event.objects.count()
    with pytest.raises(Refused, match=sentence):
        act()
    return Event.objects.count() - before


def shortfall_of(kind: str, outcome: str = "missing", **facts: object) -> Shortfall:
    """The shortfall of one kind of part of a kit that came back otherwise whole."""
    check = arrive(dispatch(packed_loan().kit).kit)
    all_back(check)
    note_line(check.lines.get(packing_line__part_kind=kind), outcome, **facts)
    finish_check(check)
    return Shortfall.objects.get()
