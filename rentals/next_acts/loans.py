"""What is next with a loan, with an enrolment that has none, and with a shortfall."""

from __future__ import annotations

from dataclasses import dataclass

from rentals.states import (
    OPEN_STAGES,
    UNSETTLED_STATES,
    LoanStage,
    ShortfallKind,
    ShortfallState,
)

from .kits import CHECK, DISPATCH, GO_TO_BENCH, PACK, RECEIVE, RELEASE
from .ways import Argument, NextAct, Way

_SEE_LOAN = Way("See loan", "rentals:loan", Argument.LOAN)
_CHASE = Way("Chase", "rentals:loan", Argument.LOAN)
_SETTLE = Way("Settle", "rentals:loan", Argument.LOAN)
_SETTLE_LOAN = Way("Settle the loan", "rentals:loan_settle", Argument.LOAN)
_SETTLE_PART = Way("Settle", "rentals:shortfall", Argument.SHORTFALL)
_READ_ASKING = Way("Read the mail that asks for it", "rentals:message", Argument.MESSAGE)
_READ_WAITING = Way("Read the mail that waits", "rentals:message", Argument.MESSAGE)
_REMIND = Way("Remind", "rentals:message_write", Argument.DUE_SOON_MAIL)
_WRITE_ASKING = Way("Write and ask for it", "rentals:message_write", Argument.OVERDUE_MAIL)

LOAN_ACTS: dict[LoanStage, NextAct] = {
    LoanStage.ASSIGNED: NextAct(PACK, PACK),
    LoanStage.PACKED: NextAct(DISPATCH, DISPATCH),
    LoanStage.AWAY: NextAct(RECEIVE, _SEE_LOAN),
    LoanStage.CHECK: NextAct(CHECK, CHECK),
    LoanStage.RETURNED: NextAct(_SETTLE_LOAN, _SETTLE),
    LoanStage.LOST: NextAct(_SETTLE_LOAN, _SEE_LOAN),
    LoanStage.SETTLED: NextAct(None, _SEE_LOAN, "The loan is over."),
    LoanStage.CANCELLED: NextAct(None, _SEE_LOAN, "The kit never went out."),
}


@dataclass(frozen=True)
class LoanSituation:
    """What the next act of a loan depends on.

    `sent_back`: the student has posted the kit. `asked_for`: a mail that asks for it is drafted.
    `short`: a shortfall of it has not ended. `held`: its kit is held. `mail_waits`: the
    mail that asks for what lacks is drafted. `to_bench`: its kit is back and waits for the bench.
    """

    stage: LoanStage
    overdue: bool = False
    sent_back: bool = False
    asked_for: bool = False
    short: bool = False
    held: bool = False
    mail_waits: bool = False
    to_bench: bool = False


def loan_act(loan: LoanSituation) -> NextAct:
    """What is next with a loan."""
    row = LOAN_ACTS[loan.stage]
    if to_ask_for(loan):
        return NextAct(_READ_ASKING if loan.asked_for else _WRITE_ASKING, _CHASE)
    if loan.stage is LoanStage.AWAY and loan.overdue:
        return NextAct(RECEIVE, _CHASE)
    if loan.held:
        return NextAct(RELEASE, row.there)
    if loan.stage is LoanStage.RETURNED and loan.mail_waits:
        return NextAct(_READ_WAITING, row.there)
    if loan.stage is LoanStage.RETURNED and loan.to_bench:
        return NextAct(GO_TO_BENCH, row.there)
    if loan.short and loan.stage not in OPEN_STAGES:
        return NextAct(_SETTLE_PART, row.there)
    return row


def to_ask_for(loan: LoanSituation) -> bool:
    """Whether the student must be asked for the kit; one that is on its way back is waited for."""
    return loan.stage is LoanStage.AWAY and loan.overdue and not loan.sent_back


def sooner_way(loan: LoanSituation) -> Way:
    """What makes a kit that is out come back sooner: a mail, unless it is on its way already."""
    if loan.stage is LoanStage.AWAY and not loan.overdue and not loan.sent_back:
        return _REMIND
    return loan_act(loan).there


def may_unassign(stage: LoanStage) -> bool:
    """Whether the kit can be given to somebody else: its parcel is not closed yet."""
    return stage is LoanStage.ASSIGNED


def may_replace_kit(stage: LoanStage, *, faulty: bool) -> bool:
    """Whether another kit can be sent in place of this one: the student has it, and none is yet."""
    return stage is LoanStage.AWAY and not faulty


def may_replace_part(stage: LoanStage) -> bool:
    """Whether a part can be sent in place of a faulty one: the student has the kit."""
    return stage is LoanStage.AWAY


def may_settle(stage: LoanStage) -> bool:
    """Whether the kit is checked or written off, so that the loan can be ended."""
    return stage in (LoanStage.RETURNED, LoanStage.LOST)


def may_note_payment(stage: LoanStage) -> bool:
    """Whether its sums stand, so that the day on which what is left was paid can be noted."""
    return stage in (LoanStage.SETTLED, LoanStage.CANCELLED)


def may_take_deposit(stage: LoanStage) -> bool:
    """Whether a deposit that is open may still come: the loan has not ended."""
    return stage not in (LoanStage.SETTLED, LoanStage.CANCELLED)


def may_check(stage: LoanStage) -> bool:
    """Whether its return check is under way."""
    return stage is LoanStage.CHECK


def may_send_packing_list(stage: LoanStage) -> bool:
    """Whether there is a closed packing list whose parcel has not come back."""
    return stage in (LoanStage.PACKED, LoanStage.AWAY)


_WHEN_A_STUDENT_LEAVES = {
    LoanStage.ASSIGNED: "Kit {code} is free again.",
    LoanStage.AWAY: "Kit {code} stays on loan until it is back and checked.",
    LoanStage.CHECK: "Kit {code} stays on loan until it is back and checked.",
}


def withdrawal_effect(stage: LoanStage, code: str) -> str:
    """What becomes of the kit of a student who leaves the run; empty where nothing does."""
    return _WHEN_A_STUDENT_LEAVES.get(stage, "").format(code=code)


_SEE_STUDENTS = Way("See the run", "rentals:run", Argument.RUN)
ASSIGN = Way("Assign", "rentals:run_assign", Argument.RUN)


def enrolment_act(*, withdrawn: bool) -> NextAct:
    """What is next with an enrolment that never got a kit."""
    if withdrawn:
        return NextAct(None, _SEE_STUDENTS, "The student withdrew.")
    return NextAct(ASSIGN, ASSIGN)


def _shortfall(act: str, route: str) -> Way:
    return Way(act, route, Argument.SHORTFALL)


_OPEN_SHORTFALL = _shortfall("Open", "rentals:shortfall")
_ENDED = NextAct(None, _OPEN_SHORTFALL, "It has ended.")

SHORTFALL_ACTS: dict[ShortfallState, NextAct] = {
    ShortfallState.OPEN: NextAct(
        _shortfall("Note as chased", "rentals:shortfall_chase"),
        _shortfall("Chase", "rentals:shortfall"),
    ),
    ShortfallState.CHASED: NextAct(
        _shortfall("It has come back", "rentals:shortfall_recover"),
        _shortfall("Settle", "rentals:shortfall"),
    ),
    ShortfallState.RECOVERED: _ENDED,
    ShortfallState.CHARGED: _ENDED,
    ShortfallState.WAIVED: _ENDED,
}
#: The same for what is here, damaged, where that changes the act: it need not come back.
DAMAGED_SHORTFALL_ACTS: dict[ShortfallState, NextAct] = {
    ShortfallState.CHASED: NextAct(
        _shortfall("Charge", "rentals:shortfall_charge"),
        _shortfall("Settle", "rentals:shortfall"),
    ),
}


def may_come_back(kind: ShortfallKind) -> bool:
    """Whether a shortfall of a kind can still arrive; what is damaged is here already."""
    return kind is ShortfallKind.MISSING


_CHARGE = _shortfall("Charge", "rentals:shortfall_charge")


def may_turn_up(kind: ShortfallKind, state: ShortfallState) -> bool:
    """Whether a shortfall that has ended can still be taken back because the part turned up."""
    return may_come_back(kind) and state in (ShortfallState.CHARGED, ShortfallState.WAIVED)


def shortfall_act(
    state: ShortfallState, *, may_come_back: bool, to_charge: bool = False
) -> NextAct:
    """What is next with a shortfall; `may_come_back` is false for what came back damaged, and
    `to_charge` says that the student was asked for long enough.
    """
    if to_charge and state in UNSETTLED_STATES:
        return NextAct(_CHARGE, _CHARGE)
    if not may_come_back and state in DAMAGED_SHORTFALL_ACTS:
        return DAMAGED_SHORTFALL_ACTS[state]
    return SHORTFALL_ACTS[state]
