"""Who is erased next, when, and what stands in the way."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from typing import Any

from django.db.models import Max, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce, Greatest, TruncDate
from django.utils import timezone

from rentals.lifecycle import Verb
from rentals.models import (
    OPEN_STAGES,
    Enrolment,
    Event,
    Loan,
    LoanStage,
    Message,
    Practice,
    Student,
)
from rentals.planning.settlement import is_undecided, settled
from rentals.selectors.ledger import claims_of, ledger_lines

_BEFORE_SETTLING = (LoanStage.RETURNED, LoanStage.LOST)


def months_before(day: date, months: int) -> date:
    """The same day so many months earlier, or the last of that month."""
    return months_after(day, -months)


def months_after(day: date, months: int) -> date:
    """The same day so many months later, or the last of that month."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    for last in (day.day, 30, 29, 28):
        try:
            return date(year, month + 1, last)
        except ValueError:
            continue
    raise ValueError(f"There is no day {months} months from {day}.")


def by_rest() -> QuerySet[Any]:
    """Everybody on file, who is longest at rest first: since their last loan was settled and paid,
    their last run ended, or they came on file, whichever was last (`at_rest`).
    """
    settled = Event.objects.filter(verb=Verb.SETTLED, loan__enrolment__student=OuterRef("pk"))
    days = {
        "last_run": Max("enrolments__run__ends_on"),
        "last_close": Max(TruncDate("enrolments__loans__closed_at")),
        "last_payment": Max("enrolments__loans__entries__day"),
        "last_settling": TruncDate(Subquery(settled.order_by("-at").values("at")[:1])),
    }
    since = TruncDate("on_file_since")
    students = Student.objects.filter(erased_at=None).annotate(**days)
    rest = Greatest(since, *(Coalesce(name, since) for name in days))
    return students.annotate(at_rest=rest).order_by("at_rest", "pk")


def due_for_erasure(today: date) -> QuerySet[Any]:
    """Those at rest for as long as students are kept, whom no open loan holds."""
    months = Practice.current().months_to_keep_students
    unsettled = Loan.objects.filter(stage__in=[*OPEN_STAGES, *_BEFORE_SETTLING])
    held = unsettled.values("enrolment__student")
    return by_rest().filter(at_rest__lte=months_before(today, months)).exclude(pk__in=held)


def holds_of(students: Iterable[Student], today: date | None = None) -> dict[int, list[str]]:
    """By student: sentences that say why they cannot be erased yet."""
    pks = [student.pk for student in students]
    today = today or timezone.localdate()
    found: dict[int, list[str]] = defaultdict(list)
    going_on = Enrolment.objects.filter(student__in=pks, withdrawn_on=None, run__ends_on__gte=today)
    for enrolment in going_on.select_related("run"):
        found[enrolment.student_id].append(
            f"On {enrolment.run.name}, which has not ended: withdraw the student first."
        )
    loans = Loan.objects.filter(enrolment__student__in=pks).exclude(stage=LoanStage.CANCELLED)
    loans = loans.select_related("kit", "enrolment").prefetch_related(
        "shortfalls__packing_line", "entries__shortfall__packing_line", "entries__reverses"
    )
    currency = Practice.current().currency
    for loan in loans:
        found[loan.enrolment.student_id] += _holds_of_loan(loan, currency)
    leaving = Message.objects.filter(
        loan__enrolment__student__in=pks, state=Message.State.SENDING
    ).values_list("loan__enrolment__student", flat=True)
    for pk in leaving:
        found[pk].append("A mail to the student is being sent at this moment: wait for it.")
    return found


def _holds_of_loan(loan: Loan, currency: str) -> list[str]:
    code = loan.kit.code
    if loan.is_open:
        stage = loan.get_stage_display()
        return [f"The loan of kit {code} is open ({stage}): receive the kit, or write it off."]
    shortfalls = list(loan.shortfalls.all())
    if names := [short.packing_line.name for short in shortfalls if is_undecided(short.state)]:
        return [f"Not decided on the loan of kit {code}: {', '.join(names)}."]
    if loan.stage in _BEFORE_SETTLING:
        return [f"The loan of kit {code} is not settled: settle it."]
    entries = list(loan.entries.all())
    currency = entries[0].currency if entries else currency
    sums = settled(ledger_lines(entries), claims_of(shortfalls), currency)
    if sums.refund:
        return [f"The rest of the deposit for kit {code} is not paid back: pay it, note the day."]
    if sums.to_pay:
        return [f"Money is owed for kit {code}: note its payment, or ask for it no more."]
    return []
