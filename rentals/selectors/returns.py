"""Loans that are out, returns under way, and shortfalls, for lists and pages."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Count, QuerySet

from rentals.due_dates import due_mark
from rentals.known_query import KnownQuery, KnownRows
from rentals.marks import Mark
from rentals.models import Loan, LoanStage, PartKind, ReturnCheck, ReturnLine, Shortfall
from rentals.selectors.next_steps import Button, receive_button
from rentals.selectors.overdue import overdue_on
from rentals.selectors.return_steps import steps_to_do
from rentals.selectors.search import is_moving, loans_numbers, together, worded_once
from rentals.states import ReturnOutcome

ALL = "all"
_OUT = (LoanStage.CHECK, LoanStage.AWAY)


def loans_out(q: str = "", show: str = "", today: date | None = None) -> QuerySet[Loan]:
    """Loans that are away or back and not checked, what is back first, then by due date."""
    loans = _with_people(Loan.objects.filter(stage__in=_OUT))
    if show == "check":
        loans = loans.filter(stage=LoanStage.CHECK)
    elif show == "overdue" and today is not None:
        loans = loans.filter(overdue_on(today))
    if q:
        loans = loans.filter(pk__in=_out_numbers(q))
    # "check" sorts after "away": what stands on the desk comes first.
    return loans.order_by("-stage", "due_on", "kit__code")


def _with_people(loans: QuerySet[Loan]) -> QuerySet[Loan]:
    return loans.select_related("kit", "enrolment__student", "enrolment__run", "return_check")


@worded_once
def _out_numbers(typed: str) -> QuerySet[Any]:
    return Loan.objects.filter(is_moving(typed), stage__in=_OUT).order_by().values("pk")


def _for_out_rows() -> QuerySet[Loan]:
    people = ("enrolment__student__name", "enrolment__run__name")
    shown = ("stage", "due_on", "kit__code", *people, "return_check__loan")
    return _with_people(Loan.objects.all()).only(*shown)


#: Loans by their numbers, with no more of each than `out_row` and the lines of the list read.
loans_of_out_rows = KnownRows(_for_out_rows).of


_BY_STAGE = KnownQuery(lambda: loans_out().order_by().values_list("stage").annotate(Count("pk")))


def count_out() -> int:
    """How many loans are away or back and not checked."""
    return sum(number for _, number in _BY_STAGE.rows())


@dataclass(frozen=True)
class OutRow:
    """One loan that is out or back on the desk, with its mark and its act."""

    loan: Loan
    mark: Mark
    away: bool
    next: Button

    @property
    def partly_back(self) -> bool:
        """Whether a parcel with a part of the kit has come already, and the rest is due."""
        return self.away and hasattr(self.loan, "return_check")

    @property
    def state_words(self) -> str:
        """The state of the loan in words: for one that is away also how far off its day is."""
        stage = self.loan.get_stage_display()
        part = ", part of it is back" if self.partly_back else ""
        return f"{stage}, {self.mark.word}{part}" if self.away else stage


def out_row(loan: Loan, today: date) -> OutRow:
    """The row of a loan that is away or waits for its check."""
    away = loan.stage == LoanStage.AWAY
    mark = due_mark(loan.due_on, today) if away else loan.mark
    return OutRow(loan, mark, away, receive_button(loan))


def shortfalls_listed(q: str = "", state: str = "") -> QuerySet[Shortfall]:
    """Shortfalls that fit the filter, oldest first; without a state those not ended yet."""
    shortfalls = Shortfall.objects.select_related(
        "loan__kit", "loan__enrolment__student", "packing_line"
    )
    if state == ALL:
        pass
    elif state in Shortfall.State:
        shortfalls = shortfalls.filter(state=state)
    else:
        shortfalls = shortfalls.filter(state__in=Shortfall.UNSETTLED)
    if q:
        of_loans = Shortfall.objects.filter(loan__in=loans_numbers(q))
        of_parts = shortfalls.select_related(None).filter(packing_line__name__icontains=q)
        shortfalls = shortfalls.filter(pk__in=together(of_loans, of_parts))
    return shortfalls.order_by("opened_at", "pk")


def unfinished(check: ReturnCheck) -> list[str]:
    """Sentences naming what the check still lacks: lines not looked at, cleaning and charging not
    done, steps of the kit type not ticked.
    """
    lines = check.lines.select_related("packing_line").order_by("packing_line__order", "pk")
    return [sentence for line in lines for sentence in lacks_of(line)] + steps_to_do(check)


def lacks_of(line: ReturnLine) -> list[str]:
    """What one line still lacks before the check can be finished, in sentences."""
    name = line.packing_line.name
    lacks = []
    if line.outcome == ReturnOutcome.OPEN:
        lacks.append(f"{name}: not looked at yet.")
    elif line.outcome == ReturnOutcome.BACK:
        if cleaning_lacks(line):
            lacks.append(f"{name}: to be cleaned, then ticked.")
        if charging_lacks(line):
            lacks.append(f"{name}: to be put on charge, then ticked.")
    return lacks


def cleaning_lacks(line: ReturnLine) -> bool:
    """Whether a line that is back must still be cleaned."""
    return line.packing_line.cleaned_between_users and not line.cleaned


def charging_lacks(line: ReturnLine) -> bool:
    """Whether a line that is back must still be put on charge."""
    return line.packing_line.part_kind == PartKind.BATTERY_PACK and not line.charged
