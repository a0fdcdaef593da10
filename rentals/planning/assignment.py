"""Which free kit goes to which student: cleared kits first, and of these the one that rested
longest.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class FreeKit:
    """A kit that may be assigned. `rested_since` is its last return (None: it was never out)."""

    code: str
    cleared: bool
    rested_since: datetime | None = None
    reason: str = ""


@dataclass(frozen=True)
class KitProposal:
    """A kit proposed for somebody; `kit` is None where there are not enough."""

    who: int
    kit: FreeKit | None


def in_order(kits: Iterable[FreeKit]) -> list[FreeKit]:
    """Kits in the order they are offered.

    Cleared ones stand before all others. A kit that was never out has rested longest; codes settle
    what is equal. The rule spreads wear evenly over the fleet (common practice, no published
    source).
    """
    return sorted(
        kits,
        key=lambda kit: (
            not kit.cleared,
            kit.rested_since is not None,
            kit.rested_since.timestamp() if kit.rested_since else 0.0,
            kit.code,
        ),
    )


def propose(students: Sequence[int], kits: Iterable[FreeKit]) -> list[KitProposal]:
    """A kit for each student, in the order of both; students beyond the last kit get none."""
    offered = iter(in_order(kits))
    return [KitProposal(who, next(offered, None)) for who in students]
