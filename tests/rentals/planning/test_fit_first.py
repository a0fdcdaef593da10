"""Kits that are to be mended go to whom nothing else is there for."""

import pytest

from rentals.planning.assigning_facts import TO_MEND, Agreed, KitAhead, Level
from rentals.planning.assigning_words import level_words, to_mend_first
from rentals.planning.fit_first import assign_fit_first
from tests.rentals.planning.brute_force import day, need

pytestmark = pytest.mark.any_database

BROKEN = KitAhead("K1", 1, day(0), 0, TO_MEND)
WORN = KitAhead("K2", 1, day(0), 9)


def test_a_kit_to_be_mended_is_given_only_where_no_other_is_left() -> None:
    one = assign_fit_first([BROKEN, WORN], [need(1, 10, 40)], [Agreed(1, "K1")])
    assert one.plan.kit_of() == {1: "K2"}
    two = assign_fit_first([BROKEN, WORN], [need(1, 10, 40), need(2, 10, 40)], [Agreed(2, "K1")])
    assert two.plan.kit_of() == {1: "K2", 2: "K1"}
    assert two.plan.value(Level.UNSERVED) == 0 and len(two.sure.unserved) == 1
    assert to_mend_first(two.plan, [BROKEN, WORN]) == ["K1"]
    words = level_words(two.plan, [BROKEN, WORN])[0]
    assert words == "1 student has a kit only once it is mended."
    three = assign_fit_first([BROKEN, WORN], [need(who, 10, 40) for who in (1, 2, 3)])
    assert level_words(three.plan, [BROKEN, WORN])[0] == f"1 student has no kit. {words}"


def test_a_kit_to_be_mended_stays_with_whom_it_is_pinned_for() -> None:
    pinned = Agreed(1, "K1", pinned=True)
    found = assign_fit_first([BROKEN, WORN], [need(1, 10, 40), need(2, 10, 40)], [pinned])
    assert found.plan.kit_of() == {1: "K1", 2: "K2"} and not found.plan.broken_pins
