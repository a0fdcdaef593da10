"""How many kits are taken at once. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import TypeVar

Moment = TypeVar("Moment", int, float, date)


def kits_needed(spans: Iterable[tuple[Moment, Moment]]) -> int:
    """The fewest kits that serve all spans, which is the largest number of them that overlap at one
    instant (interval partitioning).

    Spans are half-open: one that begins when another ends can have the same kit. An empty one needs
    none.

    Raises
    ------
    ValueError
        If a span ends before it begins.
    """
    steps: list[tuple[Moment, int]] = []
    for start, end in spans:
        if end < start:
            raise ValueError(f"a span ends at {end} before it begins at {start}")
        if start < end:
            steps += [(start, 1), (end, -1)]
    most = at_once = 0
    # An end comes before a start of the same moment: half-open.
    for _, step in sorted(steps):
        at_once += step
        most = max(most, at_once)
    return most
