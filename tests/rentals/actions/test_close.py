"""Closing a parcel with one press, and the counted rest of it."""

import pytest
from django.utils import timezone

from rentals.actions.close import close_parcel
from rentals.actions.pack import scan_part, tick_counted
from rentals.errors import Refused
from rentals.models import StockItem
from tests.factories import assigned_loan
from tests.rentals.actions.acts import stock_levels

pytestmark = pytest.mark.django_db


def ticked_loan():
    loan = assigned_loan()
    loan.packing_lines.update(ticked_at=timezone.now())
    return loan


def test_the_counted_rest_is_ticked_once_and_serial_parts_stay_to_be_scanned():
    loan = assigned_loan()
    assert [line.name for line in tick_counted(loan.kit)] == [
        "Gel electrodes",
        "Wrist band",
        "Shipping box",
    ]
    assert set(loan.packing_lines.filter(ticked_at=None).values_list("part_kind", flat=True)) == {
        "amplifier",
        "licence_key",
        "lead_set",
        "battery_pack",
        "charger",
    }
    assert tick_counted(loan.kit) == []
    noted = loan.events.get(verb="noted", text__contains="rest")
    assert noted.text == (
        "The counted rest is in: 24 × Gel electrodes, 2 × Wrist band, Shipping box."
    )
    with pytest.raises(Refused, match="5 not ticked yet"):
        close_parcel(loan.kit)
    for part in loan.kit.parts.all():
        scan_part(loan.kit, part.code)
    assert close_parcel(loan.kit).stage == "packed"


def test_what_stock_does_not_reach_for_is_not_ticked_with_the_rest():
    loan = assigned_loan()
    StockItem.objects.filter(kind="band").update(on_hand=1)
    assert [line.name for line in tick_counted(loan.kit)] == ["Gel electrodes", "Shipping box"]


def test_a_tracking_number_or_a_word_sends_the_closed_parcel_on_its_way():
    numbered, posted, waiting = ticked_loan(), ticked_loan(), ticked_loan()
    close_parcel(numbered.kit, tracking_number="AB 12", carrier="Village post", parcel_mass_g=700)
    close_parcel(posted.kit, posted=True)
    close_parcel(waiting.kit, carrier="Village post")
    for loan in (numbered, posted, waiting):
        loan.refresh_from_db()
    assert (numbered.stage, numbered.tracking_number) == ("away", "AB12")
    assert (numbered.carrier, numbered.parcel_mass_g) == ("Village post", 700)
    assert (posted.stage, posted.tracking_number) == ("away", "")
    assert (waiting.stage, waiting.carrier) == ("packed", "Village post")


def test_a_parcel_that_cannot_be_posted_is_not_packed_either(monkeypatch):
    loan, before = ticked_loan(), stock_levels()

    def refuse(*_args, **_facts):
        raise Refused("The van has left.")

    monkeypatch.setattr("rentals.actions.close.dispatch", refuse)
    with pytest.raises(Refused, match="van"):
        close_parcel(loan.kit, posted=True)
    loan.refresh_from_db()
    assert (loan.stage, stock_levels()) == ("assigned", before)
