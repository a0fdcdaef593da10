"""Reports of use: loans, kits, days out and stock used, by course run and by student."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db.models import (
    Count,
    DurationField,
    Exists,
    ExpressionWrapper,
    F,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
    Value,
)
from django.db.models.functions import Coalesce
from django.utils import timezone

from rentals.counts import counted
from rentals.models import CourseRun, Loan, Practice, Student
from rentals.planning.money import money_text
from rentals.reports.bars import BarChart, BarFact, bar_chart
from rentals.reports.report import DeskReport
from rentals.reports.scope import ReportScope
from rentals.reports.table import ColumnKind, Linked, ReportColumn, ReportTable, Row

from .scopes import posted_loans
from .used_stock import UsedStock, used_in_all, used_stock

_RUN, _STUDENT = "enrolment__run", "enrolment__student"
_DAY = timedelta(days=1)
WEEKS = (2, 4, 6, 8, 10, 12, 16)
"""Bounds of the classes of students by how long they had a kit, in weeks."""
EMPTY = "Once parcels have been posted, this page says who had how many kits for how long."
BASIS = (
    "Counted are loans whose parcel was posted in these days, each for all its time: until the"
    " parcel was back, until it was written off, or until now.",
    "Stock used is what went out and does not come back. Its worth is the price of a pack divided"
    " by its pieces; pieces without a price on file are counted, not valued.",
)


@dataclass(frozen=True)
class UseFigures:
    """Loans with their kits and students, the time out of all together, and the stock used."""

    loans: int
    kits: int
    students: int
    out: timedelta
    stock: UsedStock

    @property
    def days(self) -> float:
        return self.out / _DAY

    @property
    def days_each(self) -> float:
        """Days out of a loan in the mean; 0 without loans."""
        return self.days / self.loans if self.loans else 0.0

    @property
    def values(self) -> Row:
        """The cells that both tables share."""
        stock = self.stock
        return (
            self.loans,
            self.kits,
            round(self.days),
            self.days_each,
            stock.electrodes,
            stock.further,
            stock.worth,
            stock.unpriced,
        )


def _time_out(now: datetime) -> ExpressionWrapper:
    end = Coalesce("arrived_at", "closed_at", Value(now))
    return ExpressionWrapper(end - F("dispatched_at"), output_field=DurationField())


def _counts(now: datetime) -> dict[str, Any]:
    return {
        "loans": Count("pk"),
        "kits": Count("kit", distinct=True),
        "students": Count(_STUDENT, distinct=True),
        "out": Sum(_time_out(now)),
    }


def _figures(row: Mapping[str, Any], stock: UsedStock) -> UseFigures:
    out = row["out"] or timedelta()
    return UseFigures(row["loans"], row["kits"], row["students"], out, stock)


def _loans(scope: ReportScope) -> QuerySet[Loan]:
    return Loan.objects.filter(posted_loans(scope)).order_by()


def use_total(scope: ReportScope) -> UseFigures:
    """All use of a scope; two queries."""
    row = _loans(scope).aggregate(**_counts(timezone.now()))
    stock = used_stock(posted_loans(scope, "loan__"), f"loan__{_RUN}")
    return _figures(row, used_in_all(stock.values()))


def _grouped(scope: ReportScope, by: str, things: Sequence[Any]) -> dict[Any, UseFigures]:
    """The use of some runs or students; two queries."""
    rows = _loans(scope).filter(**{f"{by}__in": things}).values(by)
    lines = posted_loans(scope, "loan__") & Q(**{f"loan__{by}__in": things})
    stock = used_stock(lines, f"loan__{by}")
    counts = rows.annotate(**_counts(timezone.now()))
    return {row[by]: _figures(row, stock.get(row[by], UsedStock())) for row in counts}


def use_by_run(scope: ReportScope) -> DeskReport:
    """The use of each course run, the newest first."""

    def rows_of(runs: Sequence[CourseRun]) -> list[Row]:
        figures = _grouped(scope, _RUN, runs)
        return [_run_row(run, figures[run.pk]) for run in runs]

    return DeskReport(
        heading="Use by run",
        sentence=use_sentence(scope),
        caption="Loans, kits, days out and stock used, by course run",
        columns=_columns(ReportColumn("Run"), ReportColumn("Students", ColumnKind.COUNT)),
        things=CourseRun.objects.filter(pk__in=_loans(scope).values(_RUN)),
        rows_of=rows_of,
        basis=BASIS,
        empty=EMPTY,
        chart_of=_chart_of_runs,
    )


def _run_row(run: CourseRun, figures: UseFigures) -> Row:
    return (Linked(run.name, run.get_absolute_url()), figures.students, *figures.values)


def _chart_of_runs(rows: Sequence[Row]) -> BarChart | None:
    caption = "Each bar is how many days a kit of the run was out, in the mean of its loans."
    return bar_chart("Days out of a loan, by run", caption, [_days_bar(row) for row in rows])


def _days_bar(row: Row) -> BarFact:
    name, loans, days = row[0], row[2], row[5]
    assert isinstance(name, Linked)
    assert isinstance(loans, int)
    assert isinstance(days, float)
    words = f"{days:.0f} days, {counted(loans, 'loan', 'loans')}"
    return BarFact(name.words, days, words)


def use_by_student(scope: ReportScope) -> DeskReport:
    """The use of each student, by name where the scope asks for names."""

    def rows_of(students: Sequence[Student]) -> list[Row]:
        figures = _grouped(scope, _STUDENT, students)
        return [(_called(each, scope), *figures[each.pk].values) for each in students]

    weeks = _weeks(scope)
    return DeskReport(
        heading="Use by student",
        sentence=use_sentence(scope),
        caption="Loans, kits, days out and stock used, by student",
        columns=_columns(ReportColumn("Student")),
        things=Student.objects.filter(pk__in=_loans(scope).values(_STUDENT)),
        rows_of=rows_of,
        basis=BASIS,
        empty=EMPTY,
        chart_of=lambda _: _chart_of_weeks(weeks),
        twin=_table_of_weeks(weeks),
        names_students=True,
    )


def _called(student: Student, scope: ReportScope) -> Linked:
    if scope.named:
        return Linked(student.name, student.get_absolute_url())
    return Linked(f"student {student.pk}")


def _weeks(scope: ReportScope) -> list[tuple[str, int]]:
    """Students by how long they had kits; counted by the database, one query."""
    mine = Loan.objects.filter(posted_loans(scope), enrolment__student=OuterRef("pk"))
    total = mine.order_by().values(_STUDENT).annotate(out=Sum(_time_out(timezone.now())))
    students = Student.objects.filter(Exists(mine)).annotate(
        out=Subquery(total.values("out"), output_field=DurationField())
    )
    classes = list(_classes())
    counts = students.aggregate(**{f"c{n}": count for n, (_, count) in enumerate(classes)})
    return [(words, counts[f"c{n}"]) for n, (words, _) in enumerate(classes)]


def _classes() -> Sequence[tuple[str, Count]]:
    made, bounds = [], [0, *WEEKS]
    for low, high in zip(bounds, [*WEEKS, None], strict=True):
        within = Q(out__gte=timedelta(weeks=low)) if low else Q()
        if high is not None:
            within &= Q(out__lt=timedelta(weeks=high))
        words = f"{low} to {high} weeks" if high else f"{low} weeks and more"
        words = words if low else f"less than {high} weeks"
        made.append((words, Count("pk", filter=within)))
    return made


def _chart_of_weeks(weeks: Sequence[tuple[str, int]]) -> BarChart | None:
    facts = [BarFact(words, number, str(number)) for words, number in weeks]
    caption = "Each bar is how many students had kits for so long, all their loans together."
    return bar_chart("Students by how long they had kits", caption, facts)


def _table_of_weeks(weeks: Sequence[tuple[str, int]]) -> ReportTable:
    columns = [ReportColumn("Had kits for"), ReportColumn("Students", ColumnKind.COUNT)]
    return ReportTable("Students by how long they had kits", columns, weeks)


def use_sentence(scope: ReportScope) -> str:
    """The result in words; empty where nothing was posted."""
    total, currency = use_total(scope), Practice.current().currency
    if not total.loans:
        return ""
    students = counted(total.students, "student", "students")
    loans = counted(total.loans, "loan", "loans")
    kits = counted(total.kits, "kit", "kits")
    electrodes = counted(total.stock.electrodes, "electrode", "electrodes")
    further = counted(total.stock.further, "other piece", "other pieces")
    worth = money_text(total.stock.worth, currency)
    return (
        f"{scope.words}: {students} had {loans} of {kits}, out for {total.days_each:.0f} days in"
        f" the mean. They used {electrodes} and {further} of stock,"
        f" worth {worth}{_unvalued(total)}."
    )


def _unvalued(total: UseFigures) -> str:
    missing = total.stock.unpriced
    if not missing:
        return ""
    return f" without {counted(missing, 'piece', 'pieces')} that have no price"


def _columns(*first: ReportColumn) -> list[ReportColumn]:
    return [
        *first,
        ReportColumn("Loans", ColumnKind.COUNT),
        ReportColumn("Kits", ColumnKind.COUNT),
        ReportColumn("Days out", ColumnKind.COUNT),
        ReportColumn("Days a loan", ColumnKind.TENTHS),
        ReportColumn("Electrodes", ColumnKind.COUNT),
        ReportColumn("Other stock", ColumnKind.COUNT, "pieces"),
        ReportColumn("Stock used", ColumnKind.MONEY, Practice.current().currency),
        ReportColumn("No price", ColumnKind.COUNT, "pieces"),
    ]
