"""Which kit goes to which student, for one or many runs at once.

No kit overlaps itself: it is occupied from the day it is handed over until the day it is free
again (half-open: that day it may go to somebody else). Of all plans the best is taken, level by
level: a later level never costs anything of an earlier one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from .assigning_facts import (
    BEST_FIRST,
    Agreed,
    AssignmentPlan,
    HandOver,
    KitAhead,
    Level,
    LevelValue,
    Need,
)
from .assigning_network import build_network
from .assigning_pins import checked_pins


def assign_kits(
    kits: Sequence[KitAhead],
    needs: Sequence[Need],
    agreed: Iterable[Agreed] = (),
    *,
    order: Sequence[Level] = BEST_FIRST,
    seconds: float = 60.0,
) -> AssignmentPlan:
    """The best plan, proven level by level.

    Parameters
    ----------
    kits : sequence of KitAhead
        Where all levels are equal, kits named first are given first.
    needs : sequence of Need
        Students of the same days are served in this order.
    agreed : iterable of Agreed
        What each student was to get so far; at most one kit for each.
    order : sequence of Level
        `BEST_FIRST` or `AGREED_FIRST`.
    seconds : float
        Longest time for one level of one kit type; a level that takes longer is not proven.
    """
    # The solver is loaded only where a plan is made: starting the desk must not wait for it.
    from .assigning_levels import solve_levels

    checked, broken = checked_pins(kits, needs, agreed)
    pins = [row for row in checked if row.pinned]
    hand_overs: list[HandOver] = []
    totals: dict[Level, LevelValue] = {level: LevelValue(level, 0) for level in order}
    for kind in sorted({need.kind for need in needs}):
        of_kind = [kit for kit in kits if kit.kind == kind]
        wanting = [need for need in needs if need.kind == kind]
        network = build_network(of_kind, wanting, checked)
        unagreed = build_network(of_kind, wanting, pins)
        solved = solve_levels(network, unagreed, order, seconds)
        hand_overs += network.hand_overs(solved.flow)
        for row in solved.levels:
            before = totals[row.level]
            totals[row.level] = LevelValue(
                row.level, before.value + row.value, before.proven and row.proven
            )
    served = {given.who for given in hand_overs}
    unserved = tuple(need.who for need in needs if need.who not in served)
    return AssignmentPlan(tuple(hand_overs), unserved, tuple(totals.values()), broken)


def loans_after(kits: Iterable[KitAhead], plan: AssignmentPlan) -> Mapping[str, int]:
    """How often each kit will have been lent."""
    loans = {kit.code: kit.loans for kit in kits}
    for given in plan.hand_overs:
        loans[given.code] += 1
    return loans
