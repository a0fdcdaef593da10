"""Pinned kits that cannot be had as agreed: they would hold up all others, so they are let go and
named.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from itertools import groupby

from .assigning_facts import Agreed, KitAhead, Need


def checked_pins(
    kits: Sequence[KitAhead], needs: Sequence[Need], agreed: Iterable[Agreed]
) -> tuple[list[Agreed], tuple[Agreed, ...]]:
    """What is agreed with these students, with the pins that can be; and the pins that cannot.

    A pin cannot be where the kit is not among those given, is of another kind, is free too late for
    the student, or is pinned to somebody before whose days overlap.
    """
    kit_of = {kit.code: kit for kit in kits}
    need_of = {need.who: need for need in needs}
    known = [row for row in agreed if row.who in need_of]
    pins = [row for row in known if row.pinned]
    broken = [row for row in pins if not _fits(kit_of.get(row.code), need_of[row.who])]
    whole = [row for row in pins if row not in broken]
    by_kit = sorted(whole, key=lambda row: (row.code, need_of[row.who].free_again, row.who))
    for code, rows in groupby(by_kit, key=lambda row: row.code):
        broken += _overlapping(kit_of[code].free_on, list(rows), need_of)
    kept = [replace(row, pinned=row.pinned and row not in broken) for row in known]
    return kept, tuple(broken)


def _fits(kit: KitAhead | None, need: Need) -> bool:
    return kit is not None and kit.kind == need.kind and kit.free_on <= need.latest


def _overlapping(free_on: date, pins: list[Agreed], need_of: dict[int, Need]) -> list[Agreed]:
    """Pins of one kit, by the day it is free again, that cannot follow on those before them."""
    broken = []
    for pin in pins:
        need = need_of[pin.who]
        if free_on > need.latest:
            broken.append(pin)
        else:
            free_on = need.free_again
    return broken
