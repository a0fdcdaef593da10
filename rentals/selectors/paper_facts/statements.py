"""Facts of the statement at settling."""

from __future__ import annotations

from datetime import date, datetime

from django.utils import timezone

from rentals.lifecycle import Verb
from rentals.models import Loan, LoanStage, Shortfall
from rentals.paper.facts import ChargeFacts, PracticeFacts, StatementFacts

from .packing_lists import day_of
from .practice import practice_facts, student_address


def statement_facts(loan: Loan, practice: PracticeFacts | None = None) -> StatementFacts:
    """Deposit and shortfalls of a loan; as of the day it was settled, or of today while it is
    not.
    """
    settled = loan.stage == LoanStage.SETTLED
    return StatementFacts(
        practice=practice or practice_facts(),
        kit_code=loan.kit.code,
        student=loan.enrolment.student.name,
        run=loan.enrolment.run.name,
        deposit=loan.deposit,
        settled_on=_stands_on(loan) if settled else timezone.localdate(),
        charges=tuple(_charge(shortfall) for shortfall in loan.shortfalls.all()),
        sent_on=day_of(loan.dispatched_at),
        came_back_on=day_of(loan.arrived_at),
        address=student_address(loan.enrolment.student),
        settled=settled,
    )


def _charge(shortfall: Shortfall) -> ChargeFacts:
    return ChargeFacts(
        part=shortfall.packing_line.name,
        what=shortfall.get_kind_display(),
        quantity=shortfall.quantity,
        amount=shortfall.amount,
        state=shortfall.state,
        reason=shortfall.reason,
    )


def _stands_on(loan: Loan) -> date:
    return day_of(_settled_at(loan)) or timezone.localdate()


def _settled_at(loan: Loan) -> datetime | None:
    event = loan.events.filter(verb=Verb.SETTLED.value).order_by("-pk").first()
    return event.at if event else loan.closed_at
