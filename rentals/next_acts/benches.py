"""Which page a kit gets where parcels are packed, and where they are received."""

from __future__ import annotations

from enum import StrEnum

from rentals.states import KitState


class PackingPage(StrEnum):
    """What the packing bench shows of a kit."""

    ELSEWHERE = "elsewhere"
    TO_PACK = "to pack"
    PACKED = "packed"
    AWAY = "away"


class ReceivingPage(StrEnum):
    """What the page where parcels are received shows of a kit."""

    ELSEWHERE = "elsewhere"
    AWAY = "away"
    CHECK = "check"


_PACKING_PAGES = {
    KitState.ASSIGNED: PackingPage.TO_PACK,
    KitState.PACKED: PackingPage.PACKED,
    KitState.AWAY: PackingPage.AWAY,
}
_RECEIVING_PAGES = {
    KitState.AWAY: ReceivingPage.AWAY,
    KitState.CHECK: ReceivingPage.CHECK,
}


def packing_page(state: KitState) -> PackingPage:
    """The packing bench's page of a kit in a state."""
    return _PACKING_PAGES.get(state, PackingPage.ELSEWHERE)


def receiving_page(state: KitState) -> ReceivingPage:
    """The page of a kit in a state where parcels are received."""
    return _RECEIVING_PAGES.get(state, ReceivingPage.ELSEWHERE)
