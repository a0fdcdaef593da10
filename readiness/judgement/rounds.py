"""When a kit's round on the bench began, and which captures count in it. Looks up no rows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from rentals.states import KitState

if TYPE_CHECKING:
    from readiness.models import Capture
    from rentals.models import Kit

AT_THE_BENCH = frozenset(
    {KitState.SHELF, KitState.ASSIGNED, KitState.CHECK, KitState.BENCH, KitState.HELD}
)


@dataclass(frozen=True)
class Since:
    """When a round began and what began it, in words ("its last return"); ``at`` None: from the
    first day.
    """

    at: datetime | None
    words: str


def since_of(returned_at: datetime | None, fitted_at: datetime | None) -> Since:
    """The beginning of a round: the last return or the last part fitted, whichever is later."""
    if fitted_at and (returned_at is None or fitted_at > returned_at):
        return Since(fitted_at, "the last part was fitted")
    return Since(returned_at, "its last return" if returned_at else "it was registered")


def at_the_bench(kit: Kit) -> bool:
    """Whether a capture of this kit can count now: not packed, not away, not retired."""
    return KitState(kit.state) in AT_THE_BENCH


def not_counted(capture: Capture, kit: Kit, since: Since, *, came_before: bool = False) -> str:
    """Why a scored capture does not count for its kit now; empty where it does. `came_before`: it
    lay here when the round began, whatever its clock said.
    """
    if capture.set_aside:
        return f"Set aside: {capture.set_aside}"
    if not at_the_bench(kit):
        return f"The kit is {kit.get_state_display()}: captures count when it is at the bench."
    if came_before or (since.at and capture.taken < since.at):
        return f"Taken before {since.words}: does not count."
    return ""
