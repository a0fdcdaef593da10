"""What is next with a fault that a student has reported."""

from __future__ import annotations

from rentals.states import FaultState

from .ways import Argument, NextAct, Way


def _fault(act: str, route: str) -> Way:
    return Way(act, route, Argument.FAULT)


_SEE_REPORT = _fault("See the report", "rentals:fault")

FAULT_ACTS: dict[FaultState, NextAct] = {
    FaultState.OPEN: NextAct(
        _fault("Answer the student", "rentals:fault_answer"),
        _fault("Read the report", "rentals:fault"),
    ),
    FaultState.ANSWERED: NextAct(_fault("Close the report", "rentals:fault_close"), _SEE_REPORT),
    FaultState.CLOSED: NextAct(None, _SEE_REPORT, "It is closed."),
}


def may_answer(state: FaultState) -> bool:
    """Whether what was done can still be written down or corrected."""
    return state is not FaultState.CLOSED
