"""Kits for students of one or many runs: the best plan, proven."""

import random
from collections import defaultdict
from dataclasses import replace
from datetime import timedelta

import pytest

from rentals.planning import assigning_levels
from rentals.planning.assigning import assign_kits, loans_after
from rentals.planning.assigning_facts import (
    AGREED_FIRST,
    BEST_FIRST,
    Agreed,
    AssignmentPlan,
    KitAhead,
    Level,
)
from tests.rentals.planning.brute_force import Case, day, drawn_case, least, need

pytestmark = pytest.mark.any_database


def solved(case: Case, order: tuple[Level, ...] = BEST_FIRST) -> AssignmentPlan:
    return assign_kits(case.kits, case.needs, case.agreed, order=order)


def equals_brute_force(seed: int) -> None:
    case, order = drawn_case(seed), (BEST_FIRST, AGREED_FIRST)[seed % 2]
    plan = solved(case, order)
    pins = [row for row in case.agreed if row.pinned and row not in plan.broken_pins]
    found = tuple(row.value for row in plan.levels)
    assert found == least(case, pins, order), f"case {seed}"
    assert plan.proven
    holds(case, plan)


def holds(case: Case, plan: AssignmentPlan) -> None:
    """What every plan must be: right type, no overlap, days as said, pins kept, sums as told."""
    kits = {kit.code: kit for kit in case.kits}
    needs = {wanting.who: wanting for wanting in case.needs}
    rows = defaultdict(list)
    for given in plan.hand_overs:
        assert kits[given.code].kind == needs[given.who].kind
        assert given.on - needs[given.who].post_by == timedelta(days=given.late_days)
        assert given.on <= needs[given.who].latest
        rows[given.code].append((given.on, needs[given.who].free_again))
    for code, spans in rows.items():
        free_on = kits[code].free_on
        for on, free_again in sorted(spans):
            assert on >= free_on
            free_on = free_again
    kit_of = plan.kit_of()
    assert set(kit_of) | set(plan.unserved) == set(needs)
    assert len(plan.unserved) == plan.value(Level.UNSERVED)
    assert sum(given.late_days for given in plan.hand_overs) == plan.value(Level.LATE_DAYS)
    changed = [row for row in case.agreed if kit_of.get(row.who) != row.code]
    assert len(changed) == plan.value(Level.CHANGES)
    assert not [row for row in changed if row.pinned and row not in plan.broken_pins]


def test_small_cases_come_to_what_brute_force_finds() -> None:
    for seed in range(50):
        equals_brute_force(seed)


def test_bounds_first_comes_to_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(assigning_levels, "FEW_COLUMNS", 0)
    for seed in range(1000, 1012):
        equals_brute_force(seed)


@pytest.mark.night
def test_five_hundred_small_cases_come_to_what_brute_force_finds() -> None:
    for seed in range(50, 550):
        equals_brute_force(seed)


def test_one_kit_is_not_given_twice_at_a_time_and_from_the_day_it_is_free_again() -> None:
    kits = [KitAhead("K1", 1, day(0))]
    follows = assign_kits(kits, [need(1, 0, 10), need(2, 10, 20)])
    assert follows.kit_of() == {1: "K1", 2: "K1"}
    overlaps = assign_kits(kits, [need(1, 0, 10), need(2, 9, 20)])
    assert overlaps.value(Level.UNSERVED) == 1


def test_a_late_hand_over_is_better_than_none_and_worse_than_another_kit() -> None:
    wanting = [need(1, 5, 40, window=10)]
    late = assign_kits([KitAhead("K1", 1, day(8))], wanting)
    assert [(g.code, g.late_days, g.on) for g in late.hand_overs] == [("K1", 3, day(8))]
    both = assign_kits([KitAhead("K1", 1, day(8)), KitAhead("K2", 1, day(0), 9, 3)], wanting)
    assert both.kit_of() == {1: "K2"}
    assert assign_kits([KitAhead("K1", 1, day(16))], wanting).unserved == (1,)


def test_slack_before_work_before_wear() -> None:
    wanting = [need(1, 20, 40)]
    tight = KitAhead("K1", 1, day(15), 0, 0, comes_back=True)
    to_test = KitAhead("K2", 1, day(0), 0, 1)
    worn = KitAhead("K3", 1, day(0), 5, 0)
    assert assign_kits([tight, to_test], wanting).kit_of() == {1: "K2"}
    assert assign_kits([tight, to_test, worn], wanting).kit_of() == {1: "K3"}
    assert assign_kits([worn, replace(worn, code="K4", loans=4)], wanting).kit_of() == {1: "K4"}


def test_wear_is_spread_evenly() -> None:
    kits = [KitAhead("K1", 1, day(0), 3), KitAhead("K2", 1, day(0), 1), KitAhead("K3", 1, day(0))]
    plan = assign_kits(kits, [need(n, 20 * n, 20 * n + 20) for n in range(5)])
    assert sorted(loans_after(kits, plan).values()) == [3, 3, 3]


def test_pins_stay_and_those_that_cannot_be_are_named() -> None:
    kits = [KitAhead("K1", 1, day(0)), KitAhead("K2", 1, day(0), 7, 3)]
    pinned = assign_kits(kits, [need(1, 0, 10)], [Agreed(1, "K2", pinned=True)])
    assert pinned.kit_of() == {1: "K2"} and not pinned.broken_pins
    twice = [Agreed(1, "K2", pinned=True), Agreed(2, "K2", pinned=True)]
    clash = assign_kits(kits, [need(1, 0, 10), need(2, 5, 15)], twice)
    assert clash.broken_pins == (twice[1],) and clash.kit_of() == {1: "K2", 2: "K1"}


def grown_case(seed: int, students: int = 24, kits: int = 14) -> Case:
    draw = random.Random(seed)
    starts = [draw.randrange(90) for _ in range(5)]
    rows = [
        KitAhead(f"K{n:02d}", 1, day(draw.choice([0, 0, 5, 30])), draw.randrange(3))
        for n in range(kits)
    ]
    wanting = []
    for who in range(students):
        start = draw.choice(starts)
        wanting.append(need(who, start, start + 45, window=12))
    return Case(rows, wanting, [])


@pytest.mark.parametrize("seed", range(3))
def test_planning_again_with_nothing_changed_changes_nothing(seed: int) -> None:
    case = grown_case(seed)
    before = solved(case)
    agreed = [Agreed(given.who, given.code) for given in before.hand_overs]
    for order in (BEST_FIRST, AGREED_FIRST):
        again = solved(replace(case, agreed=agreed), order)
        holds(replace(case, agreed=agreed), again)
        assert again.kit_of() == before.kit_of()


def test_a_late_return_changes_one_student_where_one_is_enough() -> None:
    kits = [KitAhead(f"K{n}", 1, day(0)) for n in range(5)]
    wanting = [need(n, 10, 50) for n in range(4)]
    agreed = [Agreed(n, f"K{n}") for n in range(4)]
    late = [replace(kits[0], free_on=day(60)), *kits[1:]]
    plan = assign_kits(late, wanting, agreed, order=AGREED_FIRST)
    assert plan.kit_of() == {0: "K4", 1: "K1", 2: "K2", 3: "K3"}
    assert plan.value(Level.CHANGES) == 1
