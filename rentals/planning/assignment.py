"""Which free kit goes to which student: kits that may go out first, then complete ones, and of
these the one that rested longest.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class FreeKit:
    """A kit that may be assigned. `rested_since` is its last return (None: it was never out).

    What the gate says against it stands in sentences: `uncleared` where the bench has not cleared
    it, `lacks` for each part that is missing or damaged.
    """

    code: str
    rested_since: datetime | None = None
    uncleared: str = ""
    lacks: tuple[str, ...] = ()

    @property
    def against(self) -> tuple[str, ...]:
        """All that the gate says against it; empty for a kit that may go out as it is."""
        return (self.uncleared, *self.lacks) if self.uncleared else self.lacks

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


def propose(students: Sequence[int], kits: Iterable[FreeKit]) -> list[KitProposal]:
    """A kit for each student, in the order of both; students beyond the last kit get none."""
    offered = iter(in_order(kits))
    return [KitProposal(who, next(offered, None)) for who in students]


def why_no_kit(*, typed: bool, proposed: bool) -> str:
    """What stands beside a student for whom no kit is recognised.

    Parameters
    ----------
    typed : bool
        Something stands in the field that is no free kit.
    proposed : bool
        A kit was there to be proposed.
    """
    if typed:
        return "no kit recognised: check the code"
    return "left without a kit" if proposed else "no kit left"
