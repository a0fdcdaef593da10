"""Today's lines of open loans: kits to check, to chase, to hand over and to pack."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.db.models import QuerySet
from django.urls import reverse

from rentals.due_dates import due_mark
from rentals.models import Kit, Loan, LoanStage
from rentals.selectors.day_facts import DayFacts
from rentals.selectors.next_steps import loan_button
from rentals.selectors.overdue import overdue_on
from rentals.selectors.work_lines import WorkGroup, WorkLine, group_of, post_mark
from rentals.states import KitState


def to_check(day: DayFacts) -> WorkGroup:
    """Kits that came back, the first to come first."""

    def line(loan: Loan) -> WorkLine:
        return _loan_line(loan, day.today, mark=loan.mark)

    rows = _loans(LoanStage.CHECK).order_by("arrived_at")
    return group_of("Back, to check", rows, line, reverse("rentals:receive"), day.loans.to_check)


def overdue(day: DayFacts) -> WorkGroup:
    """Kits that ought to be back."""
    today, total = day.today, day.loans.overdue

    def line(loan: Loan) -> WorkLine:
        part = "part of it is back" if hasattr(loan, "return_check") else ""
        why = "; ".join(filter(None, (loan.enrolment.run.name, part)))
        return _loan_line(loan, today, why=why, mark=due_mark(loan.due_on, today))

    rows = _loans(LoanStage.AWAY, "return_check__loan").filter(overdue_on(today))
    return group_of("Overdue", rows.order_by("due_on"), line, reverse("rentals:receive"), total)


def to_dispatch(day: DayFacts) -> WorkGroup:
    """Parcels that stand here packed."""

    def line(loan: Loan) -> WorkLine:
        return _loan_line(loan, day.today, mark=loan.mark)

    rows, total = _loans(LoanStage.PACKED).order_by("post_by"), day.loans.packed
    return group_of("Packed, to hand over", rows, line, reverse("rentals:pack"), total)


def to_pack(day: DayFacts) -> WorkGroup:
    """Kits that are to be packed, by the day of posting."""
    today = day.today

    def line(loan: Loan) -> WorkLine:
        instead = "a replacement" if loan.replaces_id else ""
        why = "; ".join(filter(None, (instead, loan.enrolment.run.name, _against(loan.kit))))
        return _loan_line(loan, today, why=why, mark=post_mark(loan.post_by, today))

    rows = _loans(LoanStage.ASSIGNED).order_by("post_by", "kit__code")
    return group_of(
        "To pack, by post-by date", rows, line, reverse("rentals:pack"), day.loans.to_pack
    )


def _against(kit: Kit) -> str:
    if kit.state == KitState.HELD:
        return f"held: {kit.hold_reason}"
    return "" if kit.cleared else "not cleared yet"


#: All that the lines and their buttons read. To name every column takes longer than to find a row.
_OF_A_LOAN = (
    *("stage", "post_by", "due_on", "sent_back_on", "return_tracking_number", "replaces"),
    *("kit__code", "kit__state", "kit__cleared", "kit__hold_reason"),
    *("enrolment__student__name", "enrolment__run__name"),
)


def _loans(stage: str, *more: str) -> QuerySet[Loan]:
    loans = Loan.objects.filter(stage=stage)
    related = {name.rpartition("__")[0] for name in (*_OF_A_LOAN, *more)} - {""}
    return loans.select_related(*related).only(*_OF_A_LOAN, *more)


def _loan_line(loan: Loan, today: date, **details: Any) -> WorkLine:
    """A loan's line: who has the kit, on which run, and the button of its next act."""
    step = loan_button(loan, today)
    details.setdefault("why", loan.enrolment.run.name)
    student = loan.enrolment.student.name
    return WorkLine(what=student, url=step.url, act=step.act, code=loan.kit.code, **details)
