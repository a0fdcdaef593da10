"""Who of a run gets a mail of one occasion, who does not, and why."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from django.utils import timezone

from rentals.due_dates import is_overdue
from rentals.models import CourseRun, Enrolment, Loan, Message, Shortfall
from rentals.next_acts.occasions import fits_occasion
from rentals.post.address import address_fault
from rentals.post.wording import Wording
from rentals.states import LoanStage, MessageState

from .letters import filled_letter
from .runs import enrolments_of
from .wordings import wordings_of

Occasion = Message.Occasion


@dataclass(frozen=True)
class Addressee:
    """One student of a run: `problem` says why no mail can go, `doubt` why it may not be wanted."""

    enrolment: Enrolment
    loan: Loan | None
    problem: str = ""
    doubt: str = ""

    @property
    def is_proposed(self) -> bool:
        """Whether the student is ticked before anybody has looked."""
        return not (self.problem or self.doubt)


def addressees(run: CourseRun, occasion: str, today: date) -> list[Addressee]:
    """All students of a run by name, each with what stands against a mail of the occasion."""
    enrolments = list(enrolments_of(run))
    earlier = _earlier_mails(run, occasion)
    rows = [_addressee(enrolment, occasion, earlier, today) for enrolment in enrolments]
    return _only_short(run, rows) if occasion == Occasion.SHORTFALL else rows


def _only_short(run: CourseRun, rows: list[Addressee]) -> list[Addressee]:
    """The same rows; whose loan lacks nothing is not asked for it."""
    open_ones = Shortfall.objects.filter(state__in=Shortfall.UNSETTLED, loan__enrolment__run=run)
    short = set(open_ones.values_list("loan", flat=True))
    complete = "nothing lacks, or it is settled"
    return [
        replace(row, problem=row.problem or complete)
        if row.loan is None or row.loan.pk not in short
        else row
        for row in rows
    ]


def _earlier_mails(run: CourseRun, occasion: str) -> dict[int | None, Message]:
    """The newest mail of the occasion for each loan that is neither a draft nor discarded."""
    unwanted = (MessageState.DRAFT, MessageState.DISCARDED)
    mails = Message.objects.filter(run=run, occasion=occasion).exclude(state__in=unwanted)
    newest_last = mails.defer("body_html", "body_text").order_by("pk")
    return {mail.loan_id: mail for mail in newest_last}


def _addressee(
    enrolment: Enrolment, occasion: str, earlier: dict[int | None, Message], today: date
) -> Addressee:
    loans: list[Loan] = vars(enrolment)["kept_loans"]
    if not loans:
        return Addressee(enrolment, None, problem="has no kit")
    loan = next((loan for loan in loans if loan.is_open), loans[0])
    if not fits_occasion(occasion, LoanStage(loan.stage)):
        return Addressee(enrolment, loan, problem=f"the kit is {loan.get_stage_display()}")
    if fault := address_fault(enrolment.student.email.strip()):
        return Addressee(enrolment, loan, problem=fault)
    return Addressee(enrolment, loan, doubt=_doubt(loan, occasion, earlier.get(loan.pk), today))


def _doubt(loan: Loan, occasion: str, earlier: Message | None, today: date) -> str:
    if earlier is not None:
        return f"such a mail is {earlier.get_state_display()} already"
    reminds = occasion in (Occasion.DUE_SOON, Occasion.OVERDUE)
    if reminds and loan.on_its_way_back:
        return "the kit is on its way back"
    if occasion == Occasion.OVERDUE and not is_overdue(loan.due_on, today):
        return "not overdue"
    return ""


def sample_letter(loan: Loan, occasion: str) -> Wording:
    """What the mail says to one of them."""
    whole = Loan.objects.select_related("kit", "enrolment__student", "enrolment__run").get(
        pk=loan.pk
    )
    return filled_letter(whole, wordings_of(occasion), today=timezone.localdate()).words
