"""What is next with a thing that was in a parcel and not on its list."""

from __future__ import annotations

from dataclasses import dataclass

from rentals.lifecycle import Verb, may
from rentals.states import FoundState, KitState

from .ways import Argument, NextAct, Way

KEEP_ASIDE = Way("Keep it aside", "rentals:found_aside", Argument.FOUND)
MOVE_TO_KIT = Way("Move it to its kit", "rentals:found_move", Argument.FOUND)
_UNPACK = Way("Unpack the kit", "rentals:pack_kit", Argument.KIT)
_SEE_LOAN = Way("Open the loan", "rentals:loan", Argument.LOAN)


@dataclass(frozen=True)
class FoundSituation:
    """A found thing: how far it has come, and the kit it belongs to with where that stands; no kit
    where nobody knows one.
    """

    state: FoundState
    kit: str = ""
    kit_state: KitState | None = None
    lies: str = ""


def _may_join(kit_state: KitState | None) -> bool:
    """Whether a kit in this state can take back a part that was elsewhere."""
    return kit_state is not None and may(Verb.FITTED, kit_state)


def found_act(find: FoundSituation) -> NextAct:
    """What is next with it: to its kit, aside, or nothing until the kit is back."""
    if find.state in (FoundState.MOVED, FoundState.ASIDE):
        return NextAct(None, _SEE_LOAN, found_sentence(find))
    if _may_join(find.kit_state):
        return NextAct(MOVE_TO_KIT, MOVE_TO_KIT)
    if find.kit_state is KitState.PACKED:
        return NextAct(_UNPACK, _UNPACK)
    if find.state is FoundState.WAITING and find.kit_state is KitState.AWAY:
        return NextAct(None, _SEE_LOAN, found_sentence(find))
    return NextAct(KEEP_ASIDE, KEEP_ASIDE)


def found_sentence(find: FoundSituation) -> str:
    """Where it lies and what is to be done with it."""
    lies = f"Lies: {find.lies}." if find.lies else ""
    if find.state is FoundState.ASIDE:
        return lies
    if find.state is FoundState.MOVED:
        return f"Put into kit {find.kit}." if find.kit else "Put into its kit."
    return f"{_what_to_do(find)} {lies}".rstrip()


def _what_to_do(find: FoundSituation) -> str:
    kit = f"kit {find.kit}"
    if _may_join(find.kit_state):
        return f"It belongs to {kit}: put it there."
    if find.kit_state is KitState.PACKED:
        return f"It belongs to {kit}, which is packed without it: unpack that first."
    if find.kit_state is KitState.AWAY:
        return f"It belongs to {kit}, which is away: keep it aside until that is back."
    return "No kit is known that it belongs to: keep it aside."
