"""Level by level: large plans against an independent bound."""

import random

import numpy as np
import pytest
from scipy.optimize import linprog

from rentals.planning import assigning_levels
from rentals.planning.assigning import assign_kits
from rentals.planning.assigning_facts import Agreed, KitAhead, Level, Need
from tests.rentals.planning.brute_force import day, need

pytestmark = pytest.mark.any_database


def large_case(kits: int, runs: int, students: int) -> tuple[list[KitAhead], list[Need]]:
    draw = random.Random(5)
    rows = [
        KitAhead(f"K{n:04d}", 1, day(draw.choice([0, 0, 0, 30, 75])), draw.randrange(3))
        for n in range(kits)
    ]
    starts = [draw.randrange(220) for _ in range(runs)]
    needs = [need(n, starts[n % runs], starts[n % runs] + 60) for n in range(students)]
    return rows, needs


def bound(kits: list[KitAhead], needs: list[Need]) -> tuple[float, float]:
    """Least unserved and least wear with parts of kits allowed, in another form: an unknown for
    each kit and run, no kit on two at once, and its loans as a sum of single loans, each dearer.
    """
    runs = sorted({(row.post_by, row.free_again) for row in needs})
    size = [sum((row.post_by, row.free_again) == run for row in needs) for run in runs]
    width, most = len(runs), 6
    columns = len(kits) * (width + most)
    less, limits, upper = [], [], []
    for number, kit in enumerate(kits):
        at = number * (width + most)
        upper += [float(kit.free_on <= start) for start, _ in runs] + [1.0] * most
        for start, _ in runs:
            busy = [n for n, (first, last) in enumerate(runs) if first <= start < last]
            less.append({at + n: 1.0 for n in busy})
            limits.append(1.0)
        total = {at + n: 1.0 for n in range(width)}
        less.append(total | {at + width + n: -1.0 for n in range(most)})
        limits.append(0.0)
    for n in range(width):
        less.append({k * (width + most) + n: 1.0 for k in range(len(kits))})
        limits.append(float(size[n]))
    matrix = np.zeros((len(less), columns))
    for row, entries in enumerate(less):
        matrix[row, list(entries)] = list(entries.values())
    served = np.tile([1.0] * width + [0.0] * most, len(kits))
    bounds = list(zip([0.0] * columns, upper, strict=True))
    first = linprog(-served, matrix, limits, bounds=bounds)
    wear = np.concatenate(
        [[0.0] * width + [2.0 * (kit.loans + n) + 1 for n in range(most)] for kit in kits]
    )
    held = np.vstack([matrix, -served])
    second = linprog(wear, held, [*limits, first.fun + 1e-7], bounds=bounds)
    return len(needs) + first.fun, second.fun


def test_a_large_plan_is_within_an_independent_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(assigning_levels, "FEW_COLUMNS", 0)
    kits, needs = large_case(kits=40, runs=7, students=130)
    plan = assign_kits(kits, needs)
    unserved, wear = bound(kits, needs)
    assert plan.proven
    assert plan.value(Level.UNSERVED) == pytest.approx(unserved, abs=1e-4)
    assert plan.value(Level.LATE) == 0
    assert plan.value(Level.WEAR) >= wear - 1e-3


def test_both_ways_of_solving_come_to_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    kits, needs = large_case(kits=16, runs=5, students=50)
    agreed = [Agreed(n, f"K{n % 16:04d}", pinned=n % 9 == 0) for n in range(0, 30, 2)]
    found = []
    for few in (0, 10**9):
        monkeypatch.setattr(assigning_levels, "FEW_COLUMNS", few)
        found.append(assign_kits(kits, needs, agreed).levels)
    assert found[0] == found[1]


def test_where_the_time_is_up_nothing_is_called_proven(monkeypatch: pytest.MonkeyPatch) -> None:
    kits, needs = large_case(kits=4, runs=2, students=6)
    true = assigning_levels.answer_of

    def hurried(*args, **named):
        answer = true(*args, **named)
        answer.status = 1
        return answer

    monkeypatch.setattr(assigning_levels, "answer_of", hurried)
    plan = assign_kits(kits, needs)
    assert not plan.proven and len(plan.hand_overs) == 6 - plan.value(Level.UNSERVED)
