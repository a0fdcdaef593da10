"""What students said of the arrival of their parcels."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Prefetch, Q, QuerySet
from django.utils import timezone

from rentals.counts import pieces
from rentals.models import ArrivalCheck, ArrivalLine, Loan, LoanStage, PackingLine, Practice
from rentals.planning.arrival import ArrivalStanding, asked_for_damaged, asked_for_missing
from rentals.states import ShortfallKind

#: A line of which something was missing or damaged on arrival.
_LACKS = Q(missing__gt=0) | Q(damaged__gt=0)


def arrival_standing(loan: Loan, practice: Practice) -> ArrivalStanding:
    """What decides whether the student may send the arrival check of a loan."""
    check = arrival_check_of(loan)
    return ArrivalStanding(
        with_student=loan.stage == LoanStage.AWAY and not loan.on_its_way_back,
        dispatched_on=timezone.localdate(loan.dispatched_at) if loan.dispatched_at else None,
        times_sent=check.times_sent if check else 0,
        days=practice.arrival_days,
    )


def arrival_check_of(loan: Loan) -> ArrivalCheck | None:
    """The arrival check of a loan; None where the student sent none."""
    return ArrivalCheck.objects.filter(loan=loan).first()


def said_lines(check: ArrivalCheck | None) -> dict[int, ArrivalLine]:
    """What was said of each packing line, by the number of that line."""
    if check is None:
        return {}
    return {line.packing_line_id: line for line in check.lines.select_related("packing_line")}


def lacking_lines(check: ArrivalCheck) -> list[ArrivalLine]:
    """The lines of which something lacked, in the order of the list."""
    return list(check.lines.filter(_LACKS).select_related("packing_line"))


def lack_in_words(line: ArrivalLine) -> str:
    """One of them for the desk: ``2 × Swab missing: only one bag was in it``."""
    name = line.packing_line.name
    what = pieces(line.missing or line.damaged, name)
    words = f"{what} {line.outcome.label}"
    return f"{words}: {line.note}" if line.note else words


def asked_of_student(packed: PackingLine, kind: ShortfallKind, lacking: int) -> int:
    """For how many of the pieces that lack at the return the student can be asked."""
    on_arrival = ArrivalLine.objects.filter(packing_line=packed).first()
    if on_arrival is None:
        return lacking
    if kind is ShortfallKind.DAMAGED:
        return asked_for_damaged(lacking, on_arrival.missing, on_arrival.damaged)
    return asked_for_missing(lacking, on_arrival.missing)


def arrivals_to_answer() -> QuerySet[ArrivalCheck]:
    """Arrival checks on which something lacked and that nobody has seen to, oldest first, each with
    the lines of which something lacked.
    """
    lacking = ArrivalLine.objects.filter(_LACKS).values("check_of")
    waiting = ArrivalCheck.objects.filter(answered_at=None, pk__in=lacking)
    loans = waiting.select_related("loan__kit", "loan__enrolment__student")
    loans = loans.only("loan__kit__code", "loan__enrolment__student__name")
    lines = ArrivalLine.objects.filter(_LACKS).select_related("packing_line")
    return loans.prefetch_related(Prefetch("lines", lines)).order_by("sent_at", "pk")


def lacks_in_words(check: ArrivalCheck) -> str:
    """All that lacked, in one sentence; takes lines that were loaded already."""
    return "; ".join(
        lack_in_words(line) for line in check.lines.all() if line.missing or line.damaged
    )


@dataclass(frozen=True)
class ArrivalOnLoan:
    """The arrival check as the loan's page shows it."""

    check: ArrivalCheck
    lines: list[ArrivalLine]
    to_answer: bool


def arrival_on_loan(loan: Loan) -> ArrivalOnLoan | None:
    """The same of a loan; None where the student sent none."""
    check = arrival_check_of(loan)
    if check is None:
        return None
    lines = lacking_lines(check)
    return ArrivalOnLoan(check, lines, to_answer=bool(lines) and check.answered_at is None)
