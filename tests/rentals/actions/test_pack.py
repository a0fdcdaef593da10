"""Packing: what it asks for, what it takes from stock, and what undoing it gives back."""

from datetime import date, timedelta

import pytest

from rentals.actions.dispatch import dispatch
from rentals.actions.pack import pack, scan_part, tick, unpack
from rentals.actions.packing_list import draw_up
from rentals.codes import make_code
from rentals.errors import Refused
from rentals.models import ContentsLine, ElectrodeBatch, Event
from tests.factories import KitTypeFactory, assigned_loan, complete_kit, packed_loan, spare
from tests.rentals.actions.acts import events_after, pack_all, stock_levels

pytestmark = pytest.mark.django_db


def test_packing_takes_stock_and_unpacking_gives_it_back():
    loan = assigned_loan()
    before = stock_levels()
    pack_all(loan.kit)
    assert sum(before.values()) - sum(stock_levels().values()) == 24 + 2 + 1
    unpack(loan.kit)
    assert stock_levels() == before


def test_a_wrong_part_says_whose_it_is():
    loan, other = assigned_loan(), complete_kit()
    stranger = other.parts.get(kind="lead_set")
    with pytest.raises(Refused, match=f"belongs to kit {other.code}"):
        scan_part(loan.kit, stranger.code)
    own = loan.kit.parts.get(kind="lead_set")
    assert scan_part(loan.kit, f" {own.code.lower()} ").line.part_id == own.pk


def test_packing_asks_for_every_line():
    loan = assigned_loan()
    draw_up(loan.kit)
    with pytest.raises(Refused, match="8 not ticked yet: Amplifier"):
        pack(loan.kit)


def test_a_scan_at_the_packing_bench_ticks_once_and_says_what_else_it_may_be():
    loan, other = assigned_loan(), complete_kit()
    kit, loose = loan.kit, spare("charger")
    draw_up(kit)
    code = kit.parts.get(kind="charger").code
    assert scan_part(kit, code).text.endswith("ticked.")
    again = scan_part(kit, code)
    assert again.text.endswith("ticked already.") and again.line is not None
    assert scan_part(kit, kit.code).line is None
    for text, sentence in (
        (loose.code, f"{loose.code} is spare"),
        (other.code, "is another kit"),
        (make_code("P", 99999), "No part has the code"),
        ("?!", "."),
    ):
        assert events_after(lambda text=text: scan_part(kit, text), sentence) == 0


def test_a_kit_is_packed_out_of_assignment_and_its_list_is_frozen_then():
    loan = packed_loan()
    kit, line = loan.kit, loan.packing_lines.first()
    before = Event.objects.count()
    assert pack(kit).packed_at == loan.packed_at
    assert Event.objects.count() == before
    assert events_after(lambda: tick(line, on=False), "is frozen: unpack the kit") == 0
    dispatch(kit)
    assert events_after(lambda: pack(kit), "cannot be packed") == 0
    assert events_after(lambda: unpack(kit), "only a packed kit can be unpacked") == 0


def test_a_kit_type_without_contents_has_nothing_to_pack():
    kit_type = KitTypeFactory(contents=False)
    loan = assigned_loan(complete_kit(kit_type))
    assert events_after(lambda: pack(loan.kit), "give its kit type a contents list") == 0


def test_of_what_lasts_beyond_the_due_day_the_earliest_expiry_goes_out_first():
    loan = assigned_loan()
    ContentsLine.objects.filter(part_kind="electrodes").update(days_beyond_due=7)
    enough = loan.due_on + timedelta(days=7)
    ElectrodeBatch.objects.update(on_hand=0)
    item = ElectrodeBatch.objects.get().item
    for number, days, pieces in (("late", 30, 100), ("soon", 0, 10), ("gone", -1, 500)):
        ElectrodeBatch.objects.create(
            item=item, batch_number=number, expires_on=enough + timedelta(days=days), on_hand=pieces
        )
    for line in draw_up(loan.kit).packing_lines.all():
        tick(line)
    pack(loan.kit)
    lines = loan.packing_lines.filter(part_kind="electrodes").values_list(
        "batch_number", "quantity"
    )
    assert list(lines) == [("soon", 10), ("late", 14)]
    assert ElectrodeBatch.objects.get(batch_number="gone").on_hand == 500


def test_short_stock_names_the_item_and_what_there_is():
    loan = assigned_loan()
    for line in draw_up(loan.kit).packing_lines.all():
        tick(line)
    ElectrodeBatch.objects.update(expires_on=date.today() - timedelta(days=1))
    with pytest.raises(Refused, match="24 needed, 0 here. Batches that expire before"):
        pack(loan.kit)


def test_a_line_whose_stock_does_not_reach_is_not_ticked():
    loan = assigned_loan()
    electrodes = loan.packing_lines.get(part_kind="electrodes")
    batch = ElectrodeBatch.objects.get()
    batch.on_hand = 23
    batch.save()
    with pytest.raises(Refused, match=f"24 needed, 23 here. Restock {batch.item.name} first."):
        tick(electrodes)
    assert tick(electrodes, on=False).ticked_at is None
    batch.on_hand = 24
    batch.save()
    assert tick(electrodes).ticked_at
