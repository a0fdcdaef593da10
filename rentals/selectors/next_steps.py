"""What is next, on a page: rows are turned into the facts that `rentals.next_acts` asks for, and
its answers into buttons with addresses.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from typing import Any
from urllib.parse import urlencode

from django.urls import reverse

from rentals.addresses import page_address
from rentals.dates import short_date
from rentals.due_dates import due_words, is_overdue
from rentals.models import FaultReport, Kit, Loan, Message, Part, RosterDraft, Shortfall
from rentals.next_acts import (
    FAULT_ACTS,
    PART_ACTS,
    Argument,
    KitSituation,
    LoanSituation,
    NextAct,
    Way,
    kit_act,
    loan_act,
    may_come_back,
    message_act,
    shortfall_act,
)
from rentals.selectors.contents import FITTED_FIRST
from rentals.states import (
    FaultState,
    KitState,
    LoanStage,
    MessageState,
    PartPlace,
    ShortfallKind,
    ShortfallState,
)

_OCCASIONS = {
    Argument.OVERDUE_MAIL: Message.Occasion.OVERDUE,
    Argument.DUE_SOON_MAIL: Message.Occasion.DUE_SOON,
}


@dataclass(frozen=True)
class Button:
    """A next act as a page shows it: its words and its address."""

    act: str
    url: str


def address(way: Way, **rows: Any) -> str:
    """Address of the page that a way leads to; `rows` holds kit, loan, run and so on by the name of
    its argument.
    """
    match way.argument:
        case Argument.NOTHING:
            return reverse(way.route)
        case Argument.KIT | Argument.PART:
            return page_address(way.route, rows[way.argument].code)
        case Argument.ROSTER:
            draft: RosterDraft = rows["roster"]
            return page_address(way.route, draft.run_id, draft.pk)
        case Argument.NAME_OF_RUN:
            return f"{reverse(way.route)}?{urlencode({'q': rows['run'].name})}"
        case Argument.OVERDUE_MAIL | Argument.DUE_SOON_MAIL:
            about = urlencode({"occasion": _OCCASIONS[way.argument]})
            return f"{page_address(way.route, rows['loan'].pk)}?{about}"
    return page_address(way.route, rows[way.argument].pk)


def button(way: Way, **rows: Any) -> Button:
    """The button of a way."""
    return Button(way.act, address(way, **rows))


def kit_situation(kit: Kit, loan: Loan | None = None, today: date | None = None) -> KitSituation:
    """What the table must know of a kit; with its open loan also for whom it is."""
    situation = KitSituation(
        kit.code,
        KitState(kit.state),
        cleared=kit.cleared,
        overridden=bool(kit.override_reason),
        unfitted=kit.not_cleared_reason in FITTED_FIRST,
        hold_reason=kit.hold_reason,
    )
    if loan is None:
        return situation
    enrolment = loan.enrolment
    return replace(
        situation,
        student=enrolment.student.name,
        run=enrolment.run.name,
        post_by=short_date(loan.post_by),
        due=due_words(loan.due_on, today) if today else "",
    )


def bench_address(code: str) -> str:
    """Where a kit is tested; the bench is another app and is known by the names of its pages
    only.
    """
    return page_address("readiness:kit_bench", code)


def kit_step(kit: Kit) -> NextAct:
    """What is next with a kit."""
    return kit_act(kit_situation(kit))


def scan_address(kit: Kit) -> str:
    """Address of the page that a scan of a kit opens: where its next step is done."""
    return address(kit_step(kit).there, kit=kit)


def loan_situation(loan: Loan, today: date) -> LoanSituation:
    """What the table must know of a loan, as far as its row says it."""
    return LoanSituation(
        LoanStage(loan.stage),
        overdue=is_overdue(loan.due_on, today),
        sent_back=loan.on_its_way_back,
    )


def loan_step(loan: Loan, today: date) -> NextAct:
    """What is next with a loan, as far as a list shows it."""
    return loan_act(loan_situation(loan, today))


def loan_button(loan: Loan, today: date) -> Button:
    """The button of a loan in a list."""
    return button(loan_step(loan, today).there, kit=loan.kit, loan=loan)


def receive_button(loan: Loan) -> Button:
    """The button of a loan in the list of what is out, whose kit is away or on the desk."""
    return button(_way_of_what_is_out(loan.stage), kit=loan.kit)


@cache
def _way_of_what_is_out(stage: str) -> Way:
    """The kit of such a loan is in the state of the same name, and only that decides."""
    return kit_act(KitSituation("", KitState(stage))).there


def loan_page_button(loan: Loan, unsettled: list[Shortfall], today: date) -> Button | None:
    """The button of a loan's own page; `unsettled` are its shortfalls that have not ended."""
    asking = _mail_that_asks(loan) if loan.stage == LoanStage.AWAY else None
    waiting = _mail_that_waits(loan) if loan.stage == LoanStage.RETURNED else None
    situation = replace(
        loan_situation(loan, today),
        asked_for=asking is not None,
        mail_waits=waiting is not None,
        to_bench=loan.kit.state == KitState.BENCH,
        short=bool(unsettled),
        held=loan.is_open and loan.kit.state == KitState.HELD,
    )
    way = loan_act(situation).here
    if way is None:
        return None
    if way.argument is Argument.SHORTFALL:
        first = unsettled[0]
        return Button(f"{way.act} {first.packing_line.name}", address(way, shortfall=first))
    return button(way, kit=loan.kit, loan=loan, message=asking or waiting)


def _mail_that_waits(loan: Loan) -> Message | None:
    """The draft that the check of a loan's return has left: it asks for what lacks."""
    drafts = loan.messages.filter(occasion=Message.Occasion.SHORTFALL, state=Message.State.DRAFT)
    return drafts.order_by("-pk").first()


def _mail_that_asks(loan: Loan) -> Message | None:
    """The newest draft of a mail that asks for an overdue kit."""
    drafts = loan.messages.filter(occasion=Message.Occasion.OVERDUE, state=Message.State.DRAFT)
    return drafts.order_by("-pk").first()


def message_button(mail: Message) -> Button:
    """The button of a mail in a list."""
    return button(_way_of_a_mail(mail.state), message=mail)


@cache
def _way_of_a_mail(state: str) -> Way:
    return message_act(MessageState(state)).there


def shortfall_button(short: Shortfall, *, to_charge: bool = False) -> Button:
    """The button of a shortfall in a list; `to_charge` for one that is proposed for charging."""
    return button(_shortfall_act(short, to_charge).there, shortfall=short)


def shortfall_page_button(short: Shortfall, *, to_charge: bool = False) -> Button | None:
    """The button of a shortfall's own page; None once it has ended."""
    way = _shortfall_act(short, to_charge).here
    return button(way, shortfall=short) if way else None


def _shortfall_act(short: Shortfall, to_charge: bool) -> NextAct:
    return shortfall_act(
        ShortfallState(short.state),
        may_come_back=may_come_back(ShortfallKind(short.kind)),
        to_charge=to_charge,
    )


def part_page_button(part: Part) -> Button | None:
    """The button of a part's own page; None for a sound spare."""
    way = PART_ACTS[PartPlace(part.place)].here
    if way is None:
        return None
    if part.kit is not None:
        return Button(f"{way.act} {part.kit.code}", address(way, kit=part.kit))
    return button(way, part=part)


def part_waits(part: Part) -> str:
    """Why nothing is next with a part, in words; empty where something is."""
    return PART_ACTS[PartPlace(part.place)].reason


def fault_button(report: FaultReport) -> Button:
    """The button of a fault report in a list."""
    return button(FAULT_ACTS[FaultState(report.state)].there, fault=report)


def fault_page_button(report: FaultReport) -> Button | None:
    """The button of a fault report's own page; None once it is closed."""
    way = FAULT_ACTS[FaultState(report.state)].here
    return button(way, fault=report) if way else None
