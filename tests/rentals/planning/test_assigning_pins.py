"""Pins that can be, and pins that cannot."""

import pytest

from rentals.planning.assigning_facts import Agreed, KitAhead
from rentals.planning.assigning_pins import checked_pins
from tests.rentals.planning.brute_force import day, need

pytestmark = pytest.mark.any_database


def test_a_pin_needs_a_kit_of_the_kind_free_in_time_and_to_nobody_else() -> None:
    kits = [KitAhead("K1", 1, day(0)), KitAhead("K2", 1, day(30)), KitAhead("K3", 2, day(0))]
    needs = [need(who, start, start + 10) for who, start in enumerate([0, 5, 10, 20, 20])]
    pins = [Agreed(0, "K1", True), Agreed(1, "K1", True), Agreed(2, "K1", True)]
    pins += [Agreed(3, "K2", True), Agreed(4, "K3", True), Agreed(9, "K1", True)]
    kept, broken = checked_pins(kits, needs, pins)
    assert [row.who for row in broken] == [3, 4, 1]
    assert [row.who for row in kept if row.pinned] == [0, 2]
    assert len(kept) == 5


def test_what_is_only_agreed_is_never_broken() -> None:
    rows = [Agreed(0, "K9")]
    assert checked_pins([], [need(0, 0, 9)], rows) == (rows, ())
