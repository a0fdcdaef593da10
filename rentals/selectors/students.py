"""Students for the list and for each one's page: kits, loans, mails, shortfalls with their sums."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, F, OuterRef, Prefetch, QuerySet, Subquery
from django.db.models.functions import Coalesce
from django.utils.timezone import localdate

from rentals.models import OPEN_STAGES, Enrolment, Loan, Message, Practice, Shortfall, Student
from rentals.planning.settlement import Claim, Settlement, settlement
from rentals.selectors.broken_plans import SetAside, set_aside_rows
from rentals.selectors.earmarks import earmarks
from rentals.selectors.next_steps import Button, message_button
from rentals.selectors.search import students_numbers

#: Of what only grows the newest are shown; the full lists have pages of their own.
MAILS_SHOWN = SHORTFALLS_SHOWN = 20
LOANS_SHOWN = 50

_KITS_NOW = Prefetch(
    "enrolments__loans",
    queryset=Loan.objects.filter(stage__in=OPEN_STAGES).select_related("kit"),
    to_attr="open_loans",
)


def students_listed(q: str = "") -> QuerySet[Student]:
    """Students that fit the filter, by name, with how many runs they are on and how many
    shortfalls of theirs have not ended.
    """
    unsettled = (
        Shortfall.objects.filter(
            loan__enrolment__student=OuterRef("pk"), state__in=Shortfall.UNSETTLED
        )
        .order_by()
        .values("loan__enrolment__student")
        .annotate(number=Count("pk"))
        .values("number")
    )
    on_runs = (
        Enrolment.objects.filter(student=OuterRef("pk"), withdrawn_on__isnull=True)
        .order_by()
        .values("student")
        .annotate(number=Count("pk"))
        .values("number")
    )
    students = Student.objects.annotate(
        runs=Coalesce(Subquery(on_runs), 0),
        short=Coalesce(Subquery(unsettled), 0),
    )
    if q:
        students = students.filter(pk__in=students_numbers(q))
    return students.prefetch_related(_KITS_NOW).order_by("name", "pk")


@dataclass(frozen=True)
class StudentRow:
    """One student of the list with the loans that are open now."""

    student: Student
    loans: tuple[Loan, ...]


def student_row(student: Student) -> StudentRow:
    """The row of a student of `students_listed`."""
    loans = [
        loan for enrolment in student.enrolments.all() for loan in vars(enrolment)["open_loans"]
    ]
    return StudentRow(student, tuple(loans))


@dataclass(frozen=True)
class StudentPage:
    """What was lent to a student, written to them, and what lacks of it.

    `sums` are those of all their shortfalls; deposits are told apart loan by loan.
    """

    loans: list[Loan]
    mails: list[tuple[Message, Button]]
    more_mails: int
    shortfalls: list[Shortfall]
    more_shortfalls: int
    sums: Settlement
    set_aside: list[SetAside]


def student_page(student: Student) -> StudentPage:
    """All of that for one student, the newest first."""
    mails = Message.objects.filter(loan__enrolment__student=student)
    shortfalls = Shortfall.objects.filter(loan__enrolment__student=student)
    shown = mails.select_related("loan__kit").defer("body_text", "body_html")
    return StudentPage(
        loans=list(loans_of(student)[:LOANS_SHOWN]),
        mails=[(mail, message_button(mail)) for mail in shown[:MAILS_SHOWN]],
        more_mails=max(mails.count() - MAILS_SHOWN, 0),
        shortfalls=list(_newest(shortfalls)[:SHORTFALLS_SHOWN]),
        more_shortfalls=max(shortfalls.count() - SHORTFALLS_SHOWN, 0),
        sums=_sums(shortfalls.values_list("amount", "state")),
        set_aside=set_aside_rows(earmarks().filter(enrolment__student=student), localdate()),
    )


def loans_of(student: Student) -> QuerySet[Loan]:
    """Every loan of a student in whatever state, the newest first."""
    loans = Loan.objects.filter(enrolment__student=student)
    return loans.select_related("kit", "enrolment__run").order_by("-assigned_at", "-pk")


def _newest(shortfalls: QuerySet[Shortfall]) -> QuerySet[Shortfall]:
    ended_last = F("closed_at").desc(nulls_first=True)
    return shortfalls.select_related("loan__kit", "packing_line").order_by(ended_last, "-opened_at")


def _sums(claims: Iterable[tuple[Decimal, str]]) -> Settlement:
    currency = Practice.current().currency
    return settlement(Decimal(0), (Claim(amount, state) for amount, state in claims), currency)
