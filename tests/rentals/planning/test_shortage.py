"""How many kits lack on which days, and what would mend it."""

from dataclasses import replace

import pytest

from rentals.planning.assigning import assign_kits
from rentals.planning.assigning_facts import KitAhead, Level
from rentals.planning.shortage import LackingKits, MendWay, lacking_kits, mends
from tests.rentals.planning.brute_force import day, drawn_case, need

pytestmark = pytest.mark.any_database


def test_the_days_on_which_kits_lack_are_told_exactly() -> None:
    kits = [KitAhead("K1", 1, day(0)), KitAhead("K2", 1, day(12)), KitAhead("K3", 2, day(0))]
    needs = [need(0, 5, 20), need(1, 8, 20), need(2, 10, 30), need(3, 0, 9, kind=2)]
    assert lacking_kits(kits, needs) == [
        LackingKits(1, day(8), day(10), 1),
        LackingKits(1, day(10), day(12), 2),
        LackingKits(1, day(12), day(20), 1),
    ]


def test_as_many_kits_as_lack_on_the_worst_day_serve_everybody_and_one_fewer_does_not() -> None:
    seen = 0
    for seed in range(20):
        case = drawn_case(seed)
        needs = [replace(row, kind=1, latest=row.post_by) for row in case.needs]
        kits = [replace(kit, kind=1) for kit in case.kits]
        lack = max((row.kits for row in lacking_kits(kits, needs)), default=0)
        spare = [KitAhead(f"S{n}", 1, day(-1)) for n in range(lack)]
        assert not assign_kits([*kits, *spare], needs).unserved
        if lack:
            seen += 1
            assert assign_kits([*kits, *spare[1:]], needs).unserved
    assert seen > 4


def test_each_mend_is_tried_and_says_what_it_brings() -> None:
    kits = [
        KitAhead("K1", 1, day(0)),
        KitAhead("K2", 1, day(14), comes_back=True),
        KitAhead("K3", 1, day(13)),
    ]
    needs = [need(1, 10, 40), need(2, 10, 40)]
    plan = assign_kits(kits, needs)
    assert plan.value(Level.UNSERVED) == 1
    found = {mend.way: mend for mend in mends(kits, needs, [], plan)}
    assert {way: (mend.days, mend.served) for way, mend in found.items()} == {
        MendWay.SHIFT: (3, 1),
        MendWay.BENCH_FIRST: (3, 1),
        MendWay.CHASE: (4, 1),
    }
    assert found[MendWay.CHASE].code == "K2" and found[MendWay.SHIFT].who in (1, 2)


def test_a_late_hand_over_is_mended_too_and_what_brings_nothing_is_not_named() -> None:
    kits = [KitAhead("K1", 1, day(12), comes_back=True)]
    needs = [need(1, 10, 40, window=9)]
    plan = assign_kits(kits, needs)
    found = mends(kits, needs, [], plan)
    assert {(mend.way, mend.served, mend.in_time) for mend in found} == {
        (MendWay.CHASE, 0, 1),
        (MendWay.SHIFT, 0, 1),
    }
    in_time = [KitAhead("K1", 1, day(0))]
    assert mends(in_time, needs, [], assign_kits(in_time, needs)) == []
