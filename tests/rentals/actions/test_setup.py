"""Contents lines agree with themselves, stand in an order and are followed by open lists."""

import pytest

from rentals.actions.pack import pack, tick
from rentals.actions.register import fit_part, register_kit
from rentals.actions.setup import move_line, put_back_line, remove_line, save_line, save_practice
from rentals.errors import Refused
from rentals.models import ContentsLine, KitType, Loan, PartKind, Practice
from rentals.selectors.kits import kits_that_wait_for_bench
from tests.factories import (
    KitTypeFactory,
    StockItemFactory,
    assigned_loan,
    complete_kit,
    spare,
)

pytestmark = pytest.mark.django_db


def line_of(kit_type: KitType, name: str, **facts: object) -> ContentsLine:
    facts = {"part_kind": PartKind.BAND, "tracked_by": "count", "mass_g": 1} | facts
    return ContentsLine(kit_type=kit_type, name=name, **facts)


@pytest.fixture
def kit_type() -> KitType:
    kit_type = KitTypeFactory(contents=False)
    for name in "abc":
        save_line(line_of(kit_type, name))
    return kit_type


def names(kit_type: KitType) -> str:
    return "".join(line.name for line in kit_type.lines.order_by("order"))


def test_a_new_line_goes_to_the_end_and_a_changed_one_stays(kit_type):
    assert list(kit_type.lines.values_list("order", flat=True)) == [0, 1, 2]
    first = kit_type.lines.get(name="a")
    first.mass_g = 7
    assert save_line(first).order == 0


def test_a_line_moves_one_place_and_not_beyond_the_ends(kit_type):
    last = kit_type.lines.get(name="c")
    move_line(last, up=True)
    assert names(kit_type) == "acb"
    move_line(last, up=True)
    move_line(last, up=True)
    assert names(kit_type) == "cab"
    move_line(last, up=False)
    assert names(kit_type) == "acb"
    remove_line(last)
    assert names(kit_type) == "ab"


@pytest.mark.parametrize(
    ("facts", "field"),
    [
        ({"comes_back": True}, "comes_back"),
        ({"comes_back": False, "cleaned_between_users": True}, "cleaned_between_users"),
    ],
)
def test_a_single_use_line_neither_comes_back_nor_is_cleaned(kit_type, facts, field):
    with pytest.raises(Refused) as refusal:
        save_line(line_of(kit_type, "d", single_use=True, **facts))
    assert refusal.value.field == field
    assert names(kit_type) == "abc"


def test_a_part_with_a_serial_is_not_taken_from_stock(kit_type):
    line = line_of(
        kit_type,
        "d",
        part_kind=PartKind.CHARGER,
        tracked_by="serial",
        stock_item=StockItemFactory(),
    )
    save_line(line)
    line.refresh_from_db()
    assert line.stock_item is None


def test_there_is_one_practice():
    for name in ("First", "Second"):
        save_practice(Practice(name=name))
    assert Practice.objects.get().name == "Second"


@pytest.fixture
def begun_and_untouched() -> tuple[Loan, Loan]:
    """Two parcels of one type: in the first the bands are laid in already."""
    begun = assigned_loan()
    untouched = assigned_loan(complete_kit(begun.kit.kit_type))
    tick(begun.packing_lines.get(name="Wrist band"))
    return begun, untouched


def listed(loan: Loan) -> bool:
    return loan.packing_lines.filter(name="Wrist band").exists()


def test_a_removed_line_stays_in_a_parcel_that_is_begun_until_it_goes_out(begun_and_untouched):
    begun, untouched = begun_and_untouched
    band = begun.kit.kit_type.lines.get(name="Wrist band")
    removed = remove_line(band)
    assert (listed(begun), listed(untouched)) == (True, False)
    for line in begun.packing_lines.filter(ticked_at=None):
        tick(line)
    pack(begun.kit)
    assert listed(begun)
    with pytest.raises(Refused):
        remove_line(band)
    line = put_back_line(removed)
    assert listed(untouched)
    assert (line.quantity, line.order, line.stock_item) == (2, band.order, band.stock_item)
    with pytest.raises(Refused):
        put_back_line(removed)


def test_a_begun_parcel_that_is_named_loses_the_line_too(begun_and_untouched):
    begun, _ = begun_and_untouched
    removed = remove_line(begun.kit.kit_type.lines.get(name="Wrist band"), also_from=[begun.pk])
    assert not listed(begun)
    put_back_line(removed)
    assert listed(begun)


def test_a_new_kit_that_lacked_only_a_removed_line_is_to_be_tested():
    kit_type = KitTypeFactory()
    kit = register_kit(kit_type)
    lines = kit_type.lines.filter(tracked_by="serial")
    charger = lines.get(part_kind="charger")
    for line in lines.exclude(pk=charger.pk):
        fit_part(kit, spare(line.part_kind))
    assert kit not in kits_that_wait_for_bench()
    remove_line(charger)
    assert kit in kits_that_wait_for_bench()
