"""Kits that may be assigned now, and which of them is proposed to whom on one run.

What is set aside for a student is proposed first; then the plan decides as for many runs: kits
that may go out as they are, then those lent least, then those that rested longest.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
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
    """A kit proposed for somebody; `kit` is None where there are not enough."""

    who: int
    kit: FreeKit | None


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
            kit.rested_since is not None,
            kit.rested_since.timestamp() if kit.rested_since else 0.0,
            kit.code,
        ),
    )


def propose(
    students: Sequence[int], kits: Iterable[FreeKit], set_aside: Mapping[int, str]
) -> list[KitProposal]:
    """A kit for each student; None beyond the last one.

    `set_aside` is the kit set aside for a student: it is proposed where it is free, and no other
    while it is not. Kits set aside for others are proposed to nobody.
    """
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
    kit_of = plan.kit_of()
    return [KitProposal(who, by_code.get(kit_of.get(who, ""))) for who in students]


def why_no_kit(*, typed: bool, proposed: bool, set_aside: str = "") -> str:
    """What stands beside a student for whom no kit is recognised.

    Parameters
    ----------
    typed : bool
        Something stands in the field that is no free kit.
    proposed : bool
        A kit was there to be proposed.
    set_aside : str
        The code of the kit that is set aside for the student.
    """
    if typed:
        return "no kit recognised: check the code"
    if set_aside and not proposed:
        return f"{set_aside} is set aside for this student, and cannot be assigned yet"
    return "left without a kit" if proposed else "no kit left"
