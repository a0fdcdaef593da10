"""What is next: the act that may and should be done now with a kit, loan, shortfall, mail or run.

One table a noun. State and facts go in as plain values; out come the button's words, the page
where the act is done, and the sentence. Pages, scans, lists and the day's work all ask here, so
that the same kit never asks for two things. Routes are names: `rentals.selectors.next_steps` makes
addresses of them.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from rentals.states import (
    OPEN_STAGES,
    KitState,
    LoanStage,
    MessageState,
    PartPlace,
    ShortfallState,
)


class Argument(StrEnum):
    """What the address of a page is made with."""

    NOTHING = "nothing"
    KIT = "kit"
    LOAN = "loan"
    OVERDUE_MAIL = "loan of an overdue mail"
    RUN = "run"
    NAME_OF_RUN = "name of a run"
    ROSTER = "roster"
    SHORTFALL = "shortfall"
    MESSAGE = "message"
    PART = "part"


@dataclass(frozen=True)
class Way:
    """A button: its words, the name of the page it leads to, what that page's address needs."""

    act: str
    route: str
    argument: Argument


@dataclass(frozen=True)
class NextAct:
    """What is next with one thing.

    `here` is the act on the thing's own page, None where nothing is to be done; `reason` says why
    then. `there` leads from a list, a scan or the day's work to the page where it is done.
    """

    here: Way | None
    there: Way
    reason: str = ""


def _kit(act: str, route: str) -> Way:
    return Way(act, route, Argument.KIT)


_SEE_KIT = _kit("See the kit", "rentals:kit")
_PACK = _kit("Pack", "rentals:pack_kit")
_DISPATCH = _kit("Dispatch", "rentals:pack_kit")
_RECEIVE = _kit("Receive", "rentals:receive_kit")
_CHECK = _kit("Check", "rentals:receive_kit")
_BENCH = _kit("Bench", "readiness:kit_bench")
_RELEASE = _kit("Release", "rentals:kit_release")
_DECIDE = _kit("Decide", "rentals:kit")

KIT_ACTS: dict[KitState, NextAct] = {
    KitState.SHELF: NextAct(None, _SEE_KIT, "It waits for a student."),
    KitState.ASSIGNED: NextAct(_PACK, _PACK),
    KitState.PACKED: NextAct(_DISPATCH, _DISPATCH),
    KitState.AWAY: NextAct(_RECEIVE, _RECEIVE),
    KitState.CHECK: NextAct(_CHECK, _CHECK),
    KitState.BENCH: NextAct(_BENCH, _BENCH),
    KitState.HELD: NextAct(_RELEASE, _DECIDE),
    KitState.RETIRED: NextAct(None, _SEE_KIT, "It does not go out any more."),
}
#: The same for kits that are neither cleared nor overridden, where that changes the act.
UNCLEARED_KIT_ACTS: dict[KitState, NextAct] = {
    KitState.SHELF: NextAct(_BENCH, _SEE_KIT),
    KitState.ASSIGNED: NextAct(_BENCH, _PACK),
}


@dataclass(frozen=True)
class KitFacts:
    """What the next act of a kit depends on; `student` is the one it is lent to."""

    code: str
    state: KitState
    cleared: bool = False
    overridden: bool = False
    hold_reason: str = ""
    student: str = ""
    run: str = ""
    post_by: str = ""
    due: str = ""

    @property
    def may_go_out(self) -> bool:
        """Whether the gate lets it pass."""
        return self.cleared or self.overridden


def kit_act(kit: KitFacts) -> NextAct:
    """What is next with a kit."""
    if not kit.may_go_out and kit.state in UNCLEARED_KIT_ACTS:
        return UNCLEARED_KIT_ACTS[kit.state]
    return KIT_ACTS[kit.state]


def kit_sentence(kit: KitFacts) -> str:
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


def not_to_pack(kit: KitFacts) -> str:
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


_SEE_LOAN = Way("See loan", "rentals:loan", Argument.LOAN)
_CHASE = Way("Chase", "rentals:loan", Argument.LOAN)
_SETTLE = Way("Settle", "rentals:loan", Argument.LOAN)
_SETTLE_LOAN = Way("Settle the loan", "rentals:loan_settle", Argument.LOAN)
_SETTLE_PART = Way("Settle", "rentals:shortfall", Argument.SHORTFALL)
_READ_ASKING = Way("Read the mail that asks for it", "rentals:message", Argument.MESSAGE)
_WRITE_ASKING = Way("Write and ask for it", "rentals:message_write", Argument.OVERDUE_MAIL)

LOAN_ACTS: dict[LoanStage, NextAct] = {
    LoanStage.ASSIGNED: NextAct(_PACK, _PACK),
    LoanStage.PACKED: NextAct(_DISPATCH, _DISPATCH),
    LoanStage.AWAY: NextAct(_RECEIVE, _SEE_LOAN),
    LoanStage.CHECK: NextAct(_CHECK, _CHECK),
    LoanStage.RETURNED: NextAct(_SETTLE_LOAN, _SETTLE),
    LoanStage.LOST: NextAct(_SETTLE_LOAN, _SEE_LOAN),
    LoanStage.SETTLED: NextAct(None, _SEE_LOAN, "The loan is over."),
    LoanStage.CANCELLED: NextAct(None, _SEE_LOAN, "The kit never went out."),
}


@dataclass(frozen=True)
class LoanFacts:
    """What the next act of a loan depends on.

    `sent_back`: the student has posted the kit. `asked_for`: a mail that asks for it is drafted.
    `short`: a shortfall of it has not ended. `held`: its kit is held.
    """

    stage: LoanStage
    overdue: bool = False
    sent_back: bool = False
    asked_for: bool = False
    short: bool = False
    held: bool = False


def loan_act(loan: LoanFacts) -> NextAct:
    """What is next with a loan."""
    row = LOAN_ACTS[loan.stage]
    if to_ask_for(loan):
        return NextAct(_READ_ASKING if loan.asked_for else _WRITE_ASKING, _CHASE)
    if loan.stage is LoanStage.AWAY and loan.overdue:
        return NextAct(_RECEIVE, _CHASE)
    if loan.held:
        return NextAct(_RELEASE, row.there)
    if loan.short and loan.stage not in OPEN_STAGES:
        return NextAct(_SETTLE_PART, row.there)
    return row


def to_ask_for(loan: LoanFacts) -> bool:
    """Whether the student must be asked for the kit; one that is on its way back is waited for."""
    return loan.stage is LoanStage.AWAY and loan.overdue and not loan.sent_back


_SEE_STUDENTS = Way("See the run", "rentals:run", Argument.RUN)
_ASSIGN = Way("Assign", "rentals:run_assign", Argument.RUN)


def enrolment_act(*, withdrawn: bool) -> NextAct:
    """What is next with an enrolment that never got a kit."""
    if withdrawn:
        return NextAct(None, _SEE_STUDENTS, "The student withdrew.")
    return NextAct(_ASSIGN, _ASSIGN)


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


def _message(act: str, route: str) -> Way:
    return Way(act, route, Argument.MESSAGE)


_OPEN_MAIL = _message("Open", "rentals:message")
_READ_MAIL = _message("Read", "rentals:message")
#: The one way that is a form sent at once, not a page to open.
APPROVE_MAIL = "rentals:message_approve"
_APPROVE = _message("Approve and send", APPROVE_MAIL)
_MEND_ADDRESS = _message("Mend the address", "rentals:message_edit")
_SEND_AGAIN = _message("Send again", "rentals:message_resend")
_MOVING = NextAct(None, _OPEN_MAIL, "It moves on by itself.")

MESSAGE_ACTS: dict[MessageState, NextAct] = {
    MessageState.DRAFT: NextAct(_APPROVE, _READ_MAIL),
    MessageState.APPROVED: _MOVING,
    MessageState.QUEUED: _MOVING,
    MessageState.SENDING: _MOVING,
    MessageState.SENT: NextAct(None, _OPEN_MAIL, "It has gone."),
    MessageState.FAILED: NextAct(_SEND_AGAIN, _OPEN_MAIL),
    MessageState.UNCERTAIN: NextAct(_SEND_AGAIN, _OPEN_MAIL),
    MessageState.DISCARDED: NextAct(None, _OPEN_MAIL, "It was discarded."),
}


def message_act(state: MessageState, *, address_fault: bool = False) -> NextAct:
    """What is next with a mail; with `address_fault` its address cannot be written to."""
    row = MESSAGE_ACTS[state]
    if address_fault and may_change(state):
        return NextAct(_MEND_ADDRESS, row.there)
    return row


def may_change(state: MessageState) -> bool:
    """Whether text and address of a mail can be changed: it is with us and at rest."""
    return state in (MessageState.DRAFT, MessageState.FAILED)


def may_end_by_hand(state: MessageState) -> bool:
    """Whether a mail can be discarded, or noted as sent by other means: nobody outside has it."""
    waiting = (MessageState.APPROVED, MessageState.QUEUED)
    return may_change(state) or state in waiting


def message_sentence(state: MessageState, error: str) -> str:
    """What stands against a mail, in words; empty where nothing does."""
    if state is MessageState.UNCERTAIN:
        return (
            f"This mail may have been sent. {error} Ask the student or look into the mail server's"
            " log, then note it as sent or send it again."
        )
    if state is MessageState.FAILED:
        return f"It was not sent. {error}"
    return ""


_MOVE_PART = Way("Move it", "rentals:part_move", Argument.PART)
_SEE_PART = Way("Open", "rentals:part", Argument.PART)
_OPEN_KIT = Way("Open kit", "rentals:kit", Argument.KIT)

PART_ACTS: dict[PartPlace, NextAct] = {
    PartPlace.FITTED: NextAct(_OPEN_KIT, _OPEN_KIT),
    PartPlace.SPARE: NextAct(None, _SEE_PART, "A sound spare: fit it from the page of a kit."),
    PartPlace.MISSING: NextAct(_MOVE_PART, _SEE_PART),
    PartPlace.REPAIR: NextAct(_MOVE_PART, _SEE_PART),
    PartPlace.LOST: NextAct(_MOVE_PART, _SEE_PART),
    PartPlace.RETIRED: NextAct(_MOVE_PART, _SEE_PART),
}


@dataclass(frozen=True)
class RunFacts:
    """How far a run has come, in students who are on it; those away include the overdue.

    `roster_waits`: a roster was sent and is not saved yet.
    """

    students: int = 0
    without_kit: int = 0
    to_pack: int = 0
    to_dispatch: int = 0
    away: int = 0
    overdue: int = 0
    to_check: int = 0
    to_settle: int = 0
    roster_waits: bool = False


_RUN_ROWS: tuple[tuple[str, Way], ...] = (
    ("without_kit", Way("Assign kits", "rentals:run_assign", Argument.RUN)),
    ("to_pack", Way("Pack", "rentals:pack", Argument.NAME_OF_RUN)),
    ("to_dispatch", Way("Dispatch", "rentals:pack", Argument.NAME_OF_RUN)),
    ("to_check", Way("Check returns", "rentals:receive", Argument.NOTHING)),
    ("overdue", Way("See what is overdue", "rentals:receive", Argument.NOTHING)),
)


def run_act(run: RunFacts) -> Way | None:
    """What is next with a run: the first thing that anybody on it waits for; None for nothing."""
    if run.roster_waits:
        return Way("Finish the roster", "rentals:roster", Argument.ROSTER)
    if not run.students:
        return Way("Import the roster", "rentals:run_import", Argument.RUN)
    waiting = (way for count, way in _RUN_ROWS if getattr(run, count))
    return next(waiting, None)


def run_sentence(run: RunFacts) -> str:
    """How far a run has come, in one sentence."""
    if not run.students:
        return "Nobody is on this run yet."
    parts = [f"{run.students} student{'' if run.students == 1 else 's'}"]
    parts += [f"{count} {words}" for count, words in _counted(run) if count]
    sentence = ", ".join(parts)
    return f"{sentence}."


def _counted(run: RunFacts) -> tuple[tuple[int, str], ...]:
    overdue = f" ({run.overdue} overdue)" if run.overdue else ""
    return (
        (run.without_kit, "without a kit"),
        (run.to_pack, "to pack"),
        (run.to_dispatch, "to dispatch"),
        (run.away, f"away{overdue}"),
        (run.to_check, "back to check"),
        (run.to_settle, "to settle"),
    )
