"""Every plan there is, tried one after the other: the truth for small cases. And cases drawn."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import permutations, product

from rentals.planning.assigning_facts import Agreed, KitAhead, Level, Need, slack_lack

FIRST_DAY = date(2027, 1, 4)
Costs = dict[Level, int]


@dataclass(frozen=True)
class Case:
    """Kits, students and what is agreed."""

    kits: list[KitAhead]
    needs: list[Need]
    agreed: list[Agreed]


def day(number: int) -> date:
    return FIRST_DAY + timedelta(days=number)


def need(who: int, start: int, end: int, window: int = 0, kind: int = 1) -> Need:
    return Need(who, kind, day(start), day(end), day(start + window))


def drawn_case(seed: int) -> Case:
    """A small case with all that can be in one: two types, equal runs, late kits, agreements."""
    draw = random.Random(seed)
    kinds = [1, 1, 1, draw.choice([1, 2])]
    kits = [
        KitAhead(
            f"K{number}",
            draw.choice(kinds),
            day(draw.choice([0, 0, 3, 9, 18])),
            draw.randrange(4),
            draw.choice([0, 0, 1, 3]),
            draw.random() < 0.4,
        )
        for number in range(draw.randint(1, 3))
    ]
    runs = [
        (draw.randrange(25), draw.randint(6, 15), draw.randint(0, 5), draw.choice(kinds))
        for _ in range(draw.randint(1, 3))
    ]
    needs = []
    for who in range(draw.randint(1, 4)):
        start, length, window, kind = draw.choice(runs)
        needs.append(need(who, start, start + length, window, kind))
    return Case(kits, needs, _drawn_agreements(draw, kits, needs))


def _drawn_agreements(
    draw: random.Random, kits: Sequence[KitAhead], needs: Sequence[Need]
) -> list[Agreed]:
    agreed = []
    for wanting in needs:
        same = [kit.code for kit in kits if kit.kind == wanting.kind]
        if same and draw.random() < 0.6:
            agreed.append(Agreed(wanting.who, draw.choice(same), draw.random() < 0.2))
    return agreed


def least(case: Case, pins: Sequence[Agreed], order: Sequence[Level]) -> tuple[int, ...]:
    """What the best of all plans comes to, level by level."""
    chains = [_chains(kit, case.needs) for kit in case.kits]
    choices = [_choices(case, wanting, pins) for wanting in case.needs]
    best: tuple[int, ...] | None = None
    for given in product(*choices):
        taken = [0] * len(case.kits)
        for number, kit in enumerate(given):
            if kit is not None:
                taken[kit] |= 1 << number
        costs = [chain.get(subset) for chain, subset in zip(chains, taken, strict=True)]
        if None in costs:
            continue
        found = tuple(
            _changes(case, given)
            if level is Level.CHANGES
            else given.count(None)
            if level is Level.UNSERVED
            else sum(cost[level] for cost in costs)
            for level in order
        )
        best = found if best is None else min(best, found)
    assert best is not None
    return best


def _choices(case: Case, wanting: Need, pins: Sequence[Agreed]) -> list[int | None]:
    pinned = {row.who: row.code for row in pins}
    fitting = [number for number, kit in enumerate(case.kits) if kit.kind == wanting.kind]
    if wanting.who in pinned:
        return [n for n in fitting if case.kits[n].code == pinned[wanting.who]]
    return [None, *fitting]


def _changes(case: Case, given: Sequence[int | None]) -> int:
    got = {
        wanting.who: None if kit is None else case.kits[kit].code
        for wanting, kit in zip(case.needs, given, strict=True)
    }
    return sum(got[row.who] != row.code for row in case.agreed)


def _chains(kit: KitAhead, needs: Sequence[Need]) -> dict[int, Costs]:
    """What each set of students on one kit costs, for the sets that can be."""
    chains = {}
    for subset in range(1 << len(needs)):
        members = [wanting for number, wanting in enumerate(needs) if subset >> number & 1]
        for ordered in permutations(members):
            costs = walked(kit, ordered)
            if costs is not None:
                chains[subset] = costs
    return chains


def walked(kit: KitAhead, needs: Sequence[Need]) -> Costs | None:
    """What one kit costs that goes to students in this order; None where it cannot."""
    costs = dict.fromkeys(Level, 0)
    free_on, hangs_on_return, loans = kit.free_on, kit.comes_back, kit.loans
    for number, wanting in enumerate(needs):
        if free_on > wanting.latest:
            return None
        late = max((free_on - wanting.post_by).days, 0)
        costs[Level.LATE] += late > 0
        costs[Level.LATE_DAYS] += late
        if hangs_on_return:
            costs[Level.SLACK] += slack_lack((wanting.post_by - free_on).days)
        costs[Level.TO_DO] += kit.to_do if number == 0 else 0
        costs[Level.WEAR] += (loans + 1) ** 2 - loans**2
        free_on, hangs_on_return, loans = wanting.free_again, True, loans + 1
    return costs
