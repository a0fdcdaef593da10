"""What a loan's own page shows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet
from django.utils.timezone import localdate

from rentals.addresses import page_address
from rentals.models import Event, FaultReport, Loan, Message, PackingLine, ReturnLine, Shortfall
from rentals.next_acts import (
    may_note_payment,
    may_replace_kit,
    may_replace_part,
    may_settle,
    may_unassign,
    to_ask_for,
)
from rentals.planning.calendar import PlannedDay
from rentals.planning.settlement import is_undecided
from rentals.selectors.broken_plans import SetAside, set_aside_rows
from rentals.selectors.carriers import tracking_url
from rentals.selectors.cells import cells_in_words
from rentals.selectors.earmarks import earmarks
from rentals.selectors.faults import faults_of_loan
from rentals.selectors.found import FoundRow, finds, found_rows
from rentals.selectors.loan_money import LoanMoney, loan_money
from rentals.selectors.next_steps import (
    Button,
    loan_page_button,
    loan_situation,
    message_button,
)
from rentals.selectors.plan_days import day_rules
from rentals.selectors.replacements import ReplacementRow, replacement_rows
from rentals.states import LoanStage

MAILS_SHOWN = 20
EVENTS_SHOWN = 30


@dataclass(frozen=True)
class LoanPage:
    """A loan line by line, with its mails, its history, and what can be done with it.

    `lines` pairs each packing line with what came back of it. `receive_url` is where a kit is
    received that the page says to ask for first; empty for all others. `balance` says what is left
    to pay of a settled loan, `cells` whether they last an open one. `money` is its
    ledger with what can be noted there. `free_again` is when the kit of an open loan may be posted
    again, and `set_aside` for whom it is set aside then.
    """

    lines: list[tuple[PackingLine, ReturnLine | None]]
    shortfalls: list[Shortfall]
    found: list[FoundRow]
    faults: list[tuple[FaultReport, Button]]
    mails: list[tuple[Message, Button]]
    events: QuerySet[Event]
    next: Button | None
    receive_url: str
    away: bool
    tracking_url: str
    can_unassign: bool
    can_replace: bool
    record: list[Loan]
    can_replace_part: bool
    replacements: list[ReplacementRow]
    can_settle: bool
    balance: str
    free_again: PlannedDay | None
    set_aside: list[SetAside]
    cells: str
    money: LoanMoney


def loan_page(loan: Loan, today: date) -> LoanPage:
    """All of that for a loan on a day."""
    shortfalls = list(
        loan.shortfalls.select_related("packing_line").prefetch_related("packing_line__photos")
    )
    unsettled = [short for short in shortfalls if is_undecided(short.state)]
    stage, money = LoanStage(loan.stage), loan_money(loan)
    return LoanPage(
        lines=_lines(loan),
        shortfalls=shortfalls,
        found=found_rows(finds().filter(check_of__loan=loan)),
        faults=faults_of_loan(loan),
        mails=[(mail, message_button(mail)) for mail in loan.messages.all()[:MAILS_SHOWN]],
        events=Event.objects.filter(loan=loan).order_by("-pk")[:EVENTS_SHOWN],
        next=loan_page_button(loan, unsettled, today),
        receive_url=_receive_address(loan, today),
        away=stage is LoanStage.AWAY,
        tracking_url=tracking_url(loan),
        can_unassign=may_unassign(stage),
        can_replace=may_replace_kit(stage, faulty=bool(loan.fault)),
        record=_record(loan),
        can_replace_part=may_replace_part(stage),
        replacements=replacement_rows(loan),
        can_settle=may_settle(stage),
        balance=money.balance if may_note_payment(stage) else "",
        free_again=_free_again(loan, today) if loan.is_open else None,
        set_aside=_set_aside(loan, today) if loan.is_open else [],
        cells=cells_in_words(loan, today) if loan.is_open else "",
        money=money,
    )


def _record(loan: Loan) -> list[Loan]:
    """All loans of a record, the first kit first; empty for a loan whose kit nothing replaced."""
    others = Loan.objects.filter(enrolment=loan.enrolment_id).exclude(stage=LoanStage.CANCELLED)
    others = others.filter(Q(replaces__isnull=False) | ~Q(fault=""))
    loans = list(others.select_related("kit").order_by("assigned_at", "pk"))
    return loans if loan in loans else []


def _set_aside(loan: Loan, today: date) -> list[SetAside]:
    return set_aside_rows(earmarks().filter(kit=loan.kit_id), today)


def _free_again(loan: Loan, today: date) -> PlannedDay:
    """Counted from the day the kit came back; from the due day, or from today where that is over,
    while it is away.
    """
    back_on = localdate(loan.arrived_at) if loan.arrived_at else max(loan.due_on, today)
    return day_rules().free_again(back_on)


def photographed_shortfalls(loan: Loan) -> QuerySet[Shortfall]:
    """What lacks of a loan and was photographed, each with its photos, for who decides on it."""
    shown = loan.shortfalls.filter(packing_line__photos__isnull=False).distinct()
    return shown.select_related("packing_line").prefetch_related("packing_line__photos")


def _lines(loan: Loan) -> list[tuple[PackingLine, ReturnLine | None]]:
    rows = ReturnLine.objects.filter(check_of__loan=loan).select_related("packing_line")
    returned = {row.packing_line_id: row for row in rows}
    lines = loan.packing_lines.select_related("part").prefetch_related("photos")
    return [(line, returned.get(line.pk)) for line in lines]


def _receive_address(loan: Loan, today: date) -> str:
    if not to_ask_for(loan_situation(loan, today)):
        return ""
    return page_address("rentals:receive_kit", loan.kit.code)
