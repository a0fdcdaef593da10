"""The fleet's own record at the bench, read from the kits' events in their order. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum, auto

from rentals.planning.bench_chance import BenchRecord


class BenchStep(Enum):
    """What an event means for a kit that came back."""

    BACK = auto()
    WANTING = auto()
    """A part lacks or is damaged, the bench refused the kit, or somebody held it."""
    CLEARED = auto()


def count_first_rounds(steps: Iterable[tuple[int, BenchStep]]) -> BenchRecord:
    """Count first rounds: the kit passed where it was cleared before anything was found wanting.

    Parameters
    ----------
    steps : iterable of (kit, step)
        In the order of time for each kit. What happens before a kit first comes back is not
        counted, nor is a round that is not over.
    """
    waiting: set[int] = set()
    passed = failed = 0
    for kit, step in steps:
        if step is BenchStep.BACK:
            waiting.add(kit)
        elif kit in waiting:
            waiting.remove(kit)
            passed += step is BenchStep.CLEARED
            failed += step is BenchStep.WANTING
    return BenchRecord(passed, failed)
