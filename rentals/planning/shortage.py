"""Where kits do not suffice: how many of which type lack on which days, and what would mend it.

Everybody can be served in time if and only if on no day more students of a type have a kit than
kits of it have become free: one that is free stays so for whoever begins next. So the days with
more are exactly those on which kits lack, and as many kits as lack on the worst of them would serve
everybody (pins apart).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum
from itertools import pairwise

from .assigning import assign_kits
from .assigning_facts import Agreed, AssignmentPlan, KitAhead, Level, Need

FIRST_LEVELS = (Level.UNSERVED, Level.LATE)
STOPS_MENDED = 4
"""Of so many days on which students lack a kit a way out is looked for; the first come first."""

KITS_TRIED = 2


@dataclass(frozen=True)
class LackingKits:
    """So many kits of a type lack from a day until another, that day left out."""

    kind: int
    first: date
    until: date
    kits: int


class MendWay(StrEnum):
    """What can be done about it."""

    CHASE = "chase"
    BENCH_FIRST = "bench_first"
    SHIFT = "shift"


@dataclass(frozen=True)
class Mend:
    """One thing that would help, and by how much: `served` more students have a kit, `in_time` more
    hand-overs are not late. `days` is how much sooner the kit must be free, or how far the student
    is shifted, to `on`.
    """

    way: MendWay
    on: date
    days: int
    served: int
    in_time: int
    code: str = ""
    who: int | None = None


def lacking_kits(kits: Iterable[KitAhead], needs: Sequence[Need]) -> list[LackingKits]:
    """All spans of days on which kits of a type lack, by type and day."""
    kits = list(kits)
    found: list[LackingKits] = []
    for kind in sorted({need.kind for need in needs}):
        steps = sorted(_changes_of_lack(kind, kits, needs).items())
        lack = 0
        for (day, change), (until, _) in pairwise([*steps, (date.max, 0)]):
            lack += change
            if lack > 0:
                found.append(LackingKits(kind, day, until, lack))
    return found


def _changes_of_lack(kind: int, kits: Iterable[KitAhead], needs: Iterable[Need]) -> dict[date, int]:
    changes: dict[date, int] = {}
    for need in needs:
        if need.kind == kind:
            changes[need.post_by] = changes.get(need.post_by, 0) + 1
            changes[need.free_again] = changes.get(need.free_again, 0) - 1
    for kit in kits:
        if kit.kind == kind:
            changes[kit.free_on] = changes.get(kit.free_on, 0) - 1
    return {day: change for day, change in changes.items() if change}


def mends(
    kits: Sequence[KitAhead],
    needs: Sequence[Need],
    agreed: Sequence[Agreed],
    plan: AssignmentPlan,
) -> list[Mend]:
    """What would help the students who have no kit or get it late, each tried with the whole plan;
    the most helpful first.
    """
    before = _worth(plan)
    found: dict[tuple[str, int | None], Mend] = {}
    for need in _in_trouble(needs, plan):
        for mend, after_kits, after_needs in _tries(kits, needs, need):
            key = (mend.code, mend.who)
            if key in found:
                continue
            after = _worth(assign_kits(after_kits, after_needs, agreed, order=FIRST_LEVELS))
            gain = replace(mend, served=before[0] - after[0], in_time=before[1] - after[1])
            if after < before:
                found[key] = gain
    return sorted(found.values(), key=lambda mend: (-mend.served, -mend.in_time, mend.days))


def _worth(plan: AssignmentPlan) -> tuple[int, int]:
    return plan.value(Level.UNSERVED), plan.value(Level.LATE)


def _in_trouble(needs: Sequence[Need], plan: AssignmentPlan) -> list[Need]:
    """One student for each type and first day on which somebody has no kit or gets it late."""
    late = {given.who for given in plan.hand_overs if given.late_days}
    unserved = set(plan.unserved)
    rows = [need for need in needs if need.who in unserved or need.who in late]
    rows.sort(key=lambda need: (need.who not in unserved, need.post_by))
    first: dict[tuple[int, date], Need] = {}
    for need in rows:
        first.setdefault((need.kind, need.post_by), need)
    return list(first.values())[:STOPS_MENDED]


def _tries(
    kits: Sequence[KitAhead], needs: Sequence[Need], need: Need
) -> Iterator[tuple[Mend, Sequence[KitAhead], Sequence[Need]]]:
    later = [kit for kit in kits if kit.kind == need.kind and kit.free_on > need.post_by]
    later.sort(key=lambda kit: kit.free_on)
    for comes_back, way in ((True, MendWay.CHASE), (False, MendWay.BENCH_FIRST)):
        for kit in [row for row in later if row.comes_back is comes_back][:KITS_TRIED]:
            sooner = replace(kit, free_on=need.post_by)
            days = (kit.free_on - need.post_by).days
            mend = Mend(way, need.post_by, days, 0, 0, code=kit.code)
            yield mend, [sooner if row is kit else row for row in kits], needs
    shifted = _shifted(kits, needs, need)
    if shifted is not None:
        days = (shifted.post_by - need.post_by).days
        mend = Mend(MendWay.SHIFT, shifted.post_by, days, 0, 0, who=need.who)
        yield mend, kits, [shifted if row is need else row for row in needs]


def _shifted(kits: Sequence[KitAhead], needs: Sequence[Need], need: Need) -> Need | None:
    """The student moved to the first later day from which a kit is free throughout."""
    others = [row for row in needs if row is not need]
    days = {kit.free_on for kit in kits if kit.kind == need.kind}
    days |= {row.free_again for row in others if row.kind == need.kind}
    lacking = [row for row in lacking_kits(kits, others) if row.kind == need.kind]
    for day in sorted(day for day in days if day > need.post_by):
        moved = _moved(need, day - need.post_by)
        with_it = [row for row in lacking_kits(kits, [*others, moved]) if row.kind == need.kind]
        if _sum(with_it) <= _sum(lacking):
            return moved
    return None


def _sum(rows: Iterable[LackingKits]) -> int:
    return sum(row.kits * (row.until - row.first).days for row in rows)


def _moved(need: Need, by: timedelta) -> Need:
    return replace(
        need,
        post_by=need.post_by + by,
        latest=need.latest + by,
        free_again=need.free_again + by,
    )
