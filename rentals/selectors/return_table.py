"""The table where parcels are received: the checks under way, and what each scan there may mean."""

from __future__ import annotations

from django.db.models import Count, F, Q, QuerySet

from rentals.codes import grouped
from rentals.dates import short_date
from rentals.models import LoanStage, PackingLine, ReturnCheck, ReturnLine
from rentals.states import ReturnOutcome

_COMES_BACK = Q(lines__packing_line__comes_back=True)
_OPEN = _COMES_BACK & Q(lines__outcome=ReturnOutcome.OPEN)


def checks_under_way() -> QuerySet[ReturnCheck]:
    """Checks that are not finished, the oldest parcel first, each with `total` lines to look at and
    `seen` of them.
    """
    checks = ReturnCheck.objects.filter(loan__stage=LoanStage.CHECK)
    checks = checks.select_related("loan__kit", "loan__enrolment__student", "loan__enrolment__run")
    counts = {"total": Count("lines", filter=_COMES_BACK), "open": Count("lines", filter=_OPEN)}
    checks = checks.annotate(**counts).annotate(seen=F("total") - F("open"))
    return checks.order_by("loan__arrived_at", "pk")


def lines_on_the_table() -> QuerySet[PackingLine]:
    """The packing lines of all checks under way."""
    return PackingLine.objects.filter(loan__stage=LoanStage.CHECK)


def line_under_way(code: str) -> ReturnLine | None:
    """The line of a part in whichever check under way it is on."""
    lines = ReturnLine.objects.select_related("packing_line", "check_of__loan__kit")
    under_way = lines.filter(packing_line__part_code=code, check_of__loan__stage=LoanStage.CHECK)
    return under_way.order_by("pk").first()


def due_elsewhere(code: str) -> str:
    """Whose the part is that a student still has, in a sentence; empty where nobody has it."""
    lines = PackingLine.objects.filter(part_code=code, loan__stage=LoanStage.AWAY)
    lines = lines.exclude(return_line__outcome=ReturnOutcome.BACK)
    line = lines.select_related("loan__kit", "loan__enrolment__student").order_by("pk").first()
    if line is None:
        return ""
    loan = line.loan
    who, kit = loan.enrolment.student.name, grouped(loan.kit.code)
    due = short_date(loan.due_on)
    return f"{line.name} {code} belongs to kit {kit}, still with {who} and due back {due}."
