"""What is next with a kit, and where it stands in words."""

from __future__ import annotations

from dataclasses import dataclass

from rentals.states import KitState

from .ways import Argument, NextAct, Way


def _kit(act: str, route: str) -> Way:
    return Way(act, route, Argument.KIT)


_SEE_KIT = _kit("See the kit", "rentals:kit")
PACK = _kit("Pack", "rentals:pack_kit")
DISPATCH = _kit("Dispatch", "rentals:pack_kit")
RECEIVE = _kit("Receive", "rentals:receive_kit")
CHECK = _kit("Check", "rentals:receive_kit")
_BENCH = _kit("Bench", "readiness:kit_at_hand")
_FIT = _kit("Fit its parts", "rentals:kit")
_FIT_HERE = _kit("Fit its parts", "rentals:kit_fit")
RELEASE = _kit("Release", "rentals:kit_release")
#: The same page for a kit that the gate stops while it is packed.
GO_TO_BENCH = _kit("Go to the bench", "readiness:kit_bench")
_DECIDE = _kit("Decide", "rentals:kit")

KIT_ACTS: dict[KitState, NextAct] = {
    KitState.SHELF: NextAct(None, _SEE_KIT, "It waits for a student."),
    KitState.ASSIGNED: NextAct(PACK, PACK),
    KitState.PACKED: NextAct(DISPATCH, DISPATCH),
    KitState.AWAY: NextAct(RECEIVE, RECEIVE),
    KitState.CHECK: NextAct(CHECK, CHECK),
    KitState.BENCH: NextAct(_BENCH, _BENCH),
    KitState.HELD: NextAct(RELEASE, _DECIDE),
    KitState.RETIRED: NextAct(None, _SEE_KIT, "It does not go out any more."),
}
#: The same for kits that are neither cleared nor overridden, where that changes the act.
UNCLEARED_KIT_ACTS: dict[KitState, NextAct] = {
    KitState.SHELF: NextAct(_BENCH, _SEE_KIT),
    KitState.ASSIGNED: NextAct(_BENCH, PACK),
}
#: A new kit that lacks parts is not tested before it has them.
_FITTED_FIRST: dict[KitState, NextAct] = {
    KitState.SHELF: NextAct(_FIT_HERE, _FIT),
    KitState.BENCH: NextAct(_FIT_HERE, _FIT),
}


@dataclass(frozen=True)
class KitSituation:
    """What the next act of a kit depends on; `student` is the one it is lent to, and a new
    kit is `unfitted` until it has all its parts.
    """

    code: str
    state: KitState
    cleared: bool = False
    overridden: bool = False
    unfitted: bool = False
    hold_reason: str = ""
    student: str = ""
    run: str = ""
    post_by: str = ""
    due: str = ""

    @property
    def may_go_out(self) -> bool:
        """Whether the gate lets it pass."""
        return self.cleared or self.overridden


def kit_act(kit: KitSituation) -> NextAct:
    """What is next with a kit."""
    if kit.unfitted and kit.state in _FITTED_FIRST:
        return _FITTED_FIRST[kit.state]
    if not kit.may_go_out and kit.state in UNCLEARED_KIT_ACTS:
        return UNCLEARED_KIT_ACTS[kit.state]
    return KIT_ACTS[kit.state]


def kit_sentence(kit: KitSituation) -> str:
    """Where a kit stands, for its own page; empty where its state says all. `due` and `post_by` are
    words.
    """
    if kit.state is KitState.HELD:
        return f"Held: {kit.hold_reason}"
    if kit.student and kit.state is KitState.AWAY:
        return f"With {kit.student}, {kit.due}."
    if kit.student:
        return f"For {kit.student}, {kit.run}; post by {kit.post_by}."
    if kit.state is KitState.SHELF and kit.cleared:
        return "Ready to be assigned."
    return ""


def way_elsewhere(kit: KitSituation) -> Way | None:
    """Where the packing bench sends a kit on that is not there; None while it waits for a run."""
    step = kit_act(kit)
    return step.there if kit.state is KitState.RETIRED else step.here


def not_to_pack(kit: KitSituation) -> str:
    """The sentence that says why there is nothing to pack on a kit that is not at the packing
    bench.
    """
    name = f"Kit {kit.code}"
    match kit.state:
        case KitState.HELD:
            return f"{name} is held: {kit.hold_reason}"
        case KitState.CHECK:
            return f"{name} is back from {kit.student} and not checked yet."
        case KitState.RETIRED:
            return f"{name} is retired and does not go out any more."
    if kit.cleared:
        return f"{name} is on the shelf, cleared, and not assigned to anybody."
    where = "waits for the bench" if kit.state is KitState.BENCH else "is on the shelf"
    return f"{name} {where}, is not cleared, and is assigned to nobody."


def shows_clearance(state: KitState) -> bool:
    """Whether it is worth saying of a kit in this state that it is cleared or not."""
    return state not in (KitState.AWAY, KitState.CHECK, KitState.RETIRED)


def wants_clearance(state: KitState) -> bool:
    """Whether a kit in this state goes out next, so that a list says whether it is cleared."""
    return state in (KitState.SHELF, KitState.ASSIGNED)


def shows_refusal(state: KitState) -> bool:
    """Whether what the bench said against a kit still matters in this state."""
    return state not in (KitState.AWAY, KitState.RETIRED)
