"""Kits that may be assigned now, and which of them is proposed to whom on one run.

The plan of the run decides, as on its own page. Where its kit is not here, another is proposed:
kits that may go out as they are, then those lent least, then those that rested longest.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from .assigning import assign_kits
from .assigning_facts import AGREED_FIRST, Agreed, KitAhead, Need

_ANY_DAY = date(2000, 1, 3)
"""All students of one run want their kits at the same time: which day that is decides nothing."""


@dataclass(frozen=True)
class FreeKit:
    """A kit that may be assigned. `rested_since` is its last return (None: it was never out).

    What the gate says against it stands in sentences: `uncleared` where the bench has not cleared
    it, `lacks` for each part that is missing or damaged. `loans` counts how often it was lent;
    `set_aside` is the student it is set aside for on days that overlap with those of the run.
    """

    code: str
    rested_since: datetime | None = None
    uncleared: str = ""
    lacks: tuple[str, ...] = ()
    loans: int = 0
    set_aside: str = ""

    @property
    def against(self) -> tuple[str, ...]:
        """All that the gate says against it; empty for a kit that may go out as it is."""
        return (self.uncleared, *self.lacks) if self.uncleared else self.lacks

    @property
    def to_do(self) -> int:
        """Work before it may go out: none is 0, parts that lack weigh more than a test."""
        return 2 * bool(self.lacks) + bool(self.uncleared)

    @property
    def may_go_out(self) -> bool:
        """Whether the gate lets it pass as it is."""
        return not self.against


@dataclass(frozen=True)
class KitProposal:
    """A kit proposed for somebody; `kit` is None where there are not enough. `planned` is the kit
    that the plan gives and that is not here; empty where the two agree.
    """

    who: int
    kit: FreeKit | None
    planned: str = ""


def in_order(kits: Iterable[FreeKit]) -> list[FreeKit]:
    """Kits in the order they are offered.

    Those that may go out stand before all others, and complete ones before those that lack a part.
    A kit that was never out has rested longest; codes settle what is equal. The rule spreads wear
    evenly over the fleet (common practice, no published source).
    """
    return sorted(
        kits,
        key=lambda kit: (
            bool(kit.lacks),
            bool(kit.uncleared),
            *rest_order(kit.rested_since, kit.code),
        ),
    )


def rest_order(rested_since: datetime | None, code: str) -> tuple[bool, float, str]:
    """By what kits are ordered that are equal in all else: the longest rest, then the code."""
    return rested_since is not None, rested_since.timestamp() if rested_since else 0.0, code


def propose(
    students: Sequence[int],
    kits: Iterable[FreeKit],
    set_aside: Mapping[int, str],
    planned: Mapping[int, str] | None = None,
    to_mend: Collection[str] = (),
) -> list[KitProposal]:
    """A kit for each student; None beyond the last one.

    Parameters
    ----------
    set_aside : mapping
        The kit set aside for a student: no other is proposed while it is not free. Kits set aside
        for others are proposed to nobody.
    planned : mapping
        The kit that the plan gives each student. Where it is not free, another one is proposed that
        the plan gives to nobody, but none that is `to_mend`.
    """
    plan = planned or {}
    kits = list(kits)
    taken = set(plan.values())
    here = {kit.code: kit for kit in kits}
    left = [kit for kit in kits if kit.code not in taken]
    fit = [kit for kit in left if kit.code not in to_mend]
    found = {who: here[plan[who]] for who in students if plan.get(who) in here}
    away = [who for who in students if who in plan and who not in found]
    found |= _from_shelf(away, fit, set_aside)
    used = {kit.code for kit in found.values()}
    rest = [who for who in students if who not in plan]
    found |= _from_shelf(rest, [kit for kit in left if kit.code not in used], set_aside)
    return [KitProposal(who, found.get(who), plan[who] if who in away else "") for who in students]


def _from_shelf(
    students: Sequence[int], kits: Iterable[FreeKit], set_aside: Mapping[int, str]
) -> dict[int, FreeKit]:
    own = set(set_aside.values())
    offered = [kit for kit in in_order(kits) if not kit.set_aside or kit.code in own]
    by_code = {kit.code: kit for kit in offered}
    needy = [who for who in students if set_aside.get(who) in {None, *by_code}]
    plan = assign_kits(
        [KitAhead(kit.code, 0, _ANY_DAY, kit.loans, kit.to_do) for kit in offered],
        [Need(who, 0, _ANY_DAY, _ANY_DAY + timedelta(days=1), _ANY_DAY) for who in needy],
        [Agreed(who, code, pinned=True) for who, code in set_aside.items()],
        order=AGREED_FIRST,
    )
    return {who: by_code[code] for who, code in plan.kit_of().items()}


def why_no_kit(*, typed: bool, proposed: bool, set_aside: str = "", planned: str = "") -> str:
    """What stands beside a student for whom no kit is recognised.

    Parameters
    ----------
    typed : bool
        Something stands in the field that is no free kit.
    proposed : bool
        A kit was there to be proposed.
    set_aside : str
        The code of the kit that is set aside for the student.
    planned : str
        The code of the kit of the plan that is not here.
    """
    if typed:
        return "no kit recognised: check the code"
    if planned not in {"", set_aside} and not proposed:
        return f"the plan gives {planned}, which cannot be assigned yet"
    if set_aside and not proposed:
        return f"{set_aside} is set aside for this student, and cannot be assigned yet"
    return "left without a kit" if proposed else "no kit left"
