"""A kit type from the ready list is made whole, or not at all."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from rentals.actions.starter import make_kit_type
from rentals.errors import Refused
from rentals.models import Event, KitType, StockItem
from rentals.planning.starter import STARTER_LINES, ChosenLine
from rentals.verify import verify
from tests.factories import KitTypeFactory, StockItemFactory

pytestmark = pytest.mark.django_db

BY_KEY = {line.key: line for line in STARTER_LINES}


def chosen(key: str, **changed: object) -> ChosenLine:
    line = BY_KEY[key]
    facts = {"name": line.name, "quantity": line.quantity, "by_serial": line.serial}
    return ChosenLine(line, **(facts | changed))


def test_lines_stand_in_packing_order_with_what_was_adjusted() -> None:
    lines = [chosen("amplifier", price=Decimal("240")), chosen("wrist", quantity=3, name="Band")]
    kit_type = make_kit_type("Ours", "No tight coils.", lines)
    first, second = kit_type.lines.all()
    assert (first.name, first.tracked_by, first.replacement_price) == ("Amplifier", "serial", 240)
    assert (second.name, second.quantity, second.cleaned_between_users) == ("Band", 3, True)
    assert second.stock_item is None and not StockItem.objects.exists()


def test_pieces_that_are_here_become_stock_with_its_history() -> None:
    expires = timezone.localdate() + timedelta(days=200)
    lines = [
        chosen("gel", here=600, batch="GE-1", expires_on=expires),
        chosen("box", here=8),
        chosen("head", here=0),
    ]
    gel, box, head = make_kit_type("Ours", "", lines).lines.all()
    batch = gel.stock_item.batches.get()
    assert (batch.on_hand, batch.batch_number, batch.expires_on) == (600, "GE-1", expires)
    assert gel.single_use and gel.days_beyond_due == 14 and gel.stock_item.reorder_point == 24
    assert (box.stock_item.on_hand, head.stock_item.on_hand) == (8, 0)
    assert Event.objects.filter(chain=f"stock {gel.stock_item_id}").count() == 2
    assert verify() == []


def test_stock_on_file_under_the_name_is_taken() -> None:
    boxes = StockItemFactory(name="shipping BOX", kind="box", on_hand=5)
    lines = make_kit_type("Ours", "", [chosen("box", here=3), chosen("box")]).lines.all()
    assert {line.stock_item_id for line in lines} == {boxes.pk}
    boxes.refresh_from_db()
    assert boxes.on_hand == 8


@pytest.mark.parametrize(
    ("line", "field"),
    [
        (chosen("box", name="Taken"), "box_name"),
        (chosen("gel", here=5), "gel_batch"),
    ],
)
def test_a_refusal_names_the_field_and_leaves_nothing_behind(line: ChosenLine, field: str) -> None:
    StockItemFactory(name="taken", kind="band")
    with pytest.raises(Refused) as refusal:
        make_kit_type("Ours", "", [chosen("wrist", here=4), line])
    assert refusal.value.field == field
    assert not KitType.objects.exists() and StockItem.objects.count() == 1


def test_a_taken_name_and_an_empty_list_are_refused() -> None:
    taken = KitTypeFactory(contents=False).name
    with pytest.raises(Refused, match="another name"):
        make_kit_type(taken, "", [chosen("box")])
    with pytest.raises(Refused, match="at least one"):
        make_kit_type("Ours", "", [])
