"""A plan that counts on fit kits only: one that is to be mended goes to whom nothing else is there
for, or for whom it is pinned.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from .assigning import assign_kits
from .assigning_facts import BEST_FIRST, Agreed, AssignmentPlan, KitAhead, Level, LevelValue, Need


@dataclass(frozen=True)
class FitFirst:
    """The `plan` of all students, and what is sure of it: `sure` is the best plan of the `fit` kits
    for the students `needs`, who have no kit pinned that is to be mended; of what is `agreed`,
    nobody holds on to such a kit.
    """

    plan: AssignmentPlan
    sure: AssignmentPlan
    fit: tuple[KitAhead, ...]
    needs: tuple[Need, ...]
    agreed: tuple[Agreed, ...]


def assign_fit_first(
    kits: Sequence[KitAhead],
    needs: Sequence[Need],
    agreed: Iterable[Agreed] = (),
    *,
    order: Sequence[Level] = BEST_FIRST,
    seconds: float = 60.0,
) -> FitFirst:
    """The best plan of the fit kits, then the best of the others for those left without one.

    Takes what `assign_kits` takes.
    """
    fit = tuple(kit for kit in kits if not kit.to_mend)
    broken = [kit for kit in kits if kit.to_mend]
    codes = {kit.code for kit in broken}
    known = tuple(agreed)
    whole = tuple(row for row in known if row.code not in codes)
    weak = [row for row in known if row.code in codes]
    pinned = {row.who for row in weak if row.pinned}
    first = tuple(need for need in needs if need.who not in pinned)
    sure = assign_kits(fit, first, whole, order=order, seconds=seconds)
    if not broken:
        return FitFirst(sure, sure, fit, first, whole)
    left = {*sure.unserved, *pinned}
    rest = [need for need in needs if need.who in left]
    mended = assign_kits(broken, rest, weak, order=order, seconds=seconds)
    return FitFirst(_together(sure, mended), sure, fit, first, whole)


def _together(sure: AssignmentPlan, mended: AssignmentPlan) -> AssignmentPlan:
    pairs = zip(sure.levels, mended.levels, strict=True)
    levels = [_sum(first, then) for first, then in pairs]
    return AssignmentPlan(
        (*sure.hand_overs, *mended.hand_overs),
        mended.unserved,
        tuple(levels),
        (*sure.broken_pins, *mended.broken_pins),
    )


def _sum(first: LevelValue, then: LevelValue) -> LevelValue:
    """Whom the first plan leaves is asked again by the second, which alone says who is unserved."""
    before = 0 if first.level is Level.UNSERVED else first.value
    return LevelValue(first.level, before + then.value, first.proven and then.proven)
