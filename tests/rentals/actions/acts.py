"""What the tests of the loop do again and again."""

from rentals.actions.pack import pack, tick
from rentals.actions.packing_list import draw_up
from rentals.actions.receive import (
    note_line,
)
from rentals.models import ElectrodeBatch, StockItem


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
