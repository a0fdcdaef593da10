"""The fleet's own record at the bench, read from the kits' events in their order. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum, auto

from rentals.planning.bench_chance import BenchRecord


class BenchStep(Enum):
    """What an event means for a kit that came back."""

    BACK = auto()
    WANTING = auto()
    """A part lacks or is damaged, the bench refused the kit, or somebody held it."""
    CLEARED = auto()
    MENDED = auto()
    """A part was fitted: what was found before says nothing any more."""


@dataclass(frozen=True)
class BenchHistory:
    """Counted first rounds, and the kits that were found wanting and not mended since."""

    record: BenchRecord
    wanting: frozenset[int]


def bench_history(steps: Iterable[tuple[int, BenchStep]]) -> BenchHistory:
    """Count first rounds: the kit passed where it was cleared before anything was found wanting.

    Parameters
    ----------
    steps : iterable of (kit, step)
        In the order of time for each kit. What happens before a kit first comes back is not
        counted, nor is a round that is not over.
    """
    waiting: set[int] = set()
    wanting: set[int] = set()
    passed = failed = 0
    for kit, step in steps:
        if step is BenchStep.WANTING:
            wanting.add(kit)
        else:
            wanting.discard(kit)
        if step is BenchStep.BACK:
            waiting.add(kit)
        elif kit in waiting and step is not BenchStep.MENDED:
            waiting.remove(kit)
            passed += step is BenchStep.CLEARED
            failed += step is BenchStep.WANTING
    return BenchHistory(BenchRecord(passed, failed), frozenset(wanting))
