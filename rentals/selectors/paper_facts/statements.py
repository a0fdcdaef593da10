"""Facts of the statement at settling."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from django.utils import timezone

from rentals.catalogues import in_language
from rentals.lifecycle import Verb
from rentals.models import Loan, LoanStage, Shortfall
from rentals.paper.facts import ChargeFacts, PracticeFacts, StatementFacts
from rentals.planning.payment_code import loan_reference
from rentals.planning.settlement import pay_by
from rentals.planning.starter import in_students_words
from rentals.selectors.ledger import loan_currency, loan_lines

from .packing_lists import day_of
from .practice import in_students_language, practice_facts, student_address


def statement_facts(loan: Loan, practice: PracticeFacts | None = None) -> StatementFacts:
    """Deposit and shortfalls of a loan, in the language that the student reads; as of the day it
    was settled, or of today while it is not.
    """
    practice = in_students_language(practice or practice_facts(), loan.enrolment.student)
    practice = replace(practice, currency=loan_currency(loan))
    with in_language(practice.locale):
        return _facts_of(loan, practice)


def _facts_of(loan: Loan, practice: PracticeFacts) -> StatementFacts:
    ended_on = settled_on(loan)
    return StatementFacts(
        practice=practice,
        kit_code=loan.kit.code,
        student=loan.enrolment.student.name,
        run=loan.enrolment.run.name,
        lines=tuple(
            replace(line, about=in_students_words(line.about)) for line in loan_lines(loan)
        ),
        reference=loan_reference(loan.pk),
        settled_on=ended_on or timezone.localdate(),
        charges=tuple(_charge(shortfall) for shortfall in loan.shortfalls.all()),
        sent_on=day_of(loan.dispatched_at),
        came_back_on=day_of(loan.arrived_at),
        address=student_address(loan.enrolment.student),
        settled=ended_on is not None,
        pay_by=pay_by(ended_on, practice.days_to_pay),
        lost=was_written_off(loan),
    )


def _charge(shortfall: Shortfall) -> ChargeFacts:
    return ChargeFacts(
        part=in_students_words(shortfall.packing_line.name),
        what=shortfall.kind,
        quantity=shortfall.quantity,
        amount=shortfall.amount,
        state=shortfall.state,
        reason=shortfall.reason,
    )


def was_written_off(loan: Loan) -> bool:
    """Whether a loan ended without its kit."""
    return loan.stage in (LoanStage.LOST, LoanStage.SETTLED) and loan.arrived_at is None


def settled_on(loan: Loan) -> date | None:
    """The day on which a loan was settled; nothing while it is not."""
    if loan.stage != LoanStage.SETTLED:
        return None
    event = loan.events.filter(verb=Verb.SETTLED.value).order_by("-pk").first()
    return day_of(event.at if event else loan.closed_at) or timezone.localdate()
