"""Packing: what it asks for, what it takes from stock, and what undoing it gives back."""

import pytest

from rentals.actions.pack import pack, scan_part, unpack
from rentals.actions.packing_list import draw_up
from rentals.errors import Refused
from tests.factories import assigned_loan, complete_kit
from tests.rentals.actions.acts import pack_all, stock_levels

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
