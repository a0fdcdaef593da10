"""One step of a kit in its life, in memory: by the table of `rentals/lifecycle.py`."""

from __future__ import annotations

from rentals.errors import Refused
from rentals.lifecycle import NotAllowed, Standing, Verb, follow
from rentals.models import Kit
from rentals.states import KitState

#: The columns of a kit that an event may change by itself.
MOVED = (
    "state",
    "cleared",
    "held_from",
    "partly_back",
    "cleared_at",
    "override_reason",
    "hold_reason",
    "event_count",
    "last_hash",
)


def take_step(kit: Kit, verb: Verb) -> None:
    """Move a locked kit, and take away what no longer fits its state; nothing is saved.

    Raises
    ------
    Refused
        If the act may not happen in the kit's state.
    """
    before = _standing_of(kit) if kit.event_count else Standing()
    try:
        after = follow(before, verb)
    except NotAllowed as refusal:
        raise Refused(f"Kit {kit.code}: {refusal}.") from refusal
    assert after.state is not None
    kit.state = after.state.value
    kit.cleared = after.cleared
    kit.held_from = after.held_from.value if after.held_from else ""
    kit.partly_back = after.partly_back
    if not after.cleared:
        kit.cleared_at = None
    if not after.overridden:
        kit.override_reason = ""
    if after.state is not KitState.HELD:
        kit.hold_reason = ""


def _standing_of(kit: Kit) -> Standing:
    """What the kit's row says of it, in the terms of the life table."""
    return Standing(
        state=KitState(kit.state),
        cleared=kit.cleared,
        overridden=bool(kit.override_reason),
        held_from=KitState(kit.held_from) if kit.held_from else None,
        partly_back=kit.partly_back,
    )
