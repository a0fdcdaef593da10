"""Reports of what lending costs: parts, stock, wear of lead sets; by course run and by loan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import Count, Q, QuerySet, Sum
from django.utils import timezone

from rentals.counts import counted
from rentals.models import CourseRun, Loan, PackingLine, Part, PartKind, Practice
from rentals.planning.lead_life import LeadRecord, LoanCost
from rentals.planning.money import money_text
from rentals.reports.bars import BarChart, BarFact, bar_chart
from rentals.reports.report import DeskReport
from rentals.reports.scope import ReportScope
from rentals.reports.table import ColumnKind, Linked, ReportColumn, ReportTable, Row
from rentals.selectors.lead_sets import lead_set_price, lead_sets
from rentals.states import PartEnd, ShortfallState

from .booked import BookedSums, booked_in_all, booked_sums, other_currencies, shortfalls_in
from .scopes import ended_loans
from .used_stock import UsedStock, used_stock

EMPTY = "Once kits have come back and were checked, this page says what lending them has cost."
_RUN = "enrolment__run"
BASIS = (
    "Counted are loans that ended in these days: checked in, or written off.",
    "Parts are those that did not come back or came back damaged, at the worth on file, lead sets"
    " left out. A lead set costs each loan the same, whichever one ends it: its price over the"
    " loans that it lasts, as the page of lead sets works it out.",
    "Stock used is worth the price of a pack divided by its pieces; items without a price count"
    " nothing.",
    "What students were charged and was not given up, and what carriers paid, is taken off, by the"
    " ledger. Postage is not in it: this desk does not know what a parcel costs.",
)


@dataclass(frozen=True)
class CostFigures:
    """What some loans cost, and what others bear of it. `wear` is None where nothing is known of
    the life of lead sets.
    """

    loans: int
    parts: Decimal
    stock: Decimal
    wear: Decimal | None
    borne: BookedSums

    @property
    def total(self) -> Decimal:
        """What the practice bears."""
        others = self.borne.from_students + self.borne.from_carriers
        return self.parts + self.stock + (self.wear or 0) - others

    @property
    def each(self) -> Decimal:
        """The same a loan; 0 without loans."""
        return self.total / self.loans if self.loans else Decimal(0)

    @property
    def values(self) -> Row:
        """The cells that both tables share."""
        students, carriers = self.borne.from_students, self.borne.from_carriers
        return (self.parts, self.stock, self.wear, students, carriers, self.total)


def lead_set_cost() -> LoanCost | None:
    """What a lead set costs a loan, with its interval; None where it is not known."""
    rows = lead_sets(timezone.localdate())
    price = lead_set_price()
    if not rows or not price:
        return None
    return LeadRecord(row.life for row in rows).cost_a_loan(price)


def _loans(scope: ReportScope) -> QuerySet[Loan]:
    return Loan.objects.filter(ended_loans(scope)).order_by()


def _grouped(loans: QuerySet[Loan], by: str, lead_set: LoanCost | None) -> dict[Any, CostFigures]:
    """The costs of loans by the field `by` of a loan; five queries."""
    within = Q(loan__in=loans.values("pk"))
    numbers = dict(loans.values_list(by).annotate(Count("pk")))
    currency = Practice.current().currency
    parts, sets = _parts(within, by, currency), _lead_sets_sent(within, by)
    stock = used_stock(within, f"loan__{by}")
    borne = booked_sums(within, f"loan__{by}", currency)
    return {
        key: CostFigures(
            loans=number,
            parts=parts.get(key) or Decimal(0),
            stock=stock.get(key, UsedStock()).worth,
            wear=lead_set.mean * sets.get(key, 0) if lead_set else None,
            borne=borne.get(key, BookedSums()),
        )
        for key, number in numbers.items()
    }


def _parts(within: Q, by: str, currency: str) -> dict[Any, Decimal | None]:
    """The worth of parts that were not recovered, lead sets left out."""
    gone = shortfalls_in(within, currency).exclude(state=ShortfallState.RECOVERED)
    gone = gone.exclude(packing_line__part_kind=PartKind.LEAD_SET)
    return dict(gone.values_list(f"loan__{by}").annotate(Sum("amount")))


def _lead_sets_sent(within: Q, by: str) -> dict[Any, int]:
    lines = PackingLine.objects.filter(within, part_kind=PartKind.LEAD_SET).order_by()
    return dict(lines.values_list(f"loan__{by}").annotate(Sum("quantity")))


def cost_total(scope: ReportScope, lead_set: LoanCost | None) -> CostFigures:
    """All costs of a scope: those of its runs together."""
    runs = list(_grouped(_loans(scope), _RUN, lead_set).values())
    nothing = Decimal(0)
    return CostFigures(
        loans=sum(run.loans for run in runs),
        parts=sum((run.parts for run in runs), nothing),
        stock=sum((run.stock for run in runs), nothing),
        wear=sum((run.wear or nothing for run in runs), nothing) if lead_set else None,
        borne=booked_in_all(run.borne for run in runs),
    )


def costs_by_run(scope: ReportScope) -> DeskReport:
    """What the loans of each course run cost, the newest first."""
    lead_set = lead_set_cost()
    total = cost_total(scope, lead_set)

    def rows_of(runs: Sequence[CourseRun]) -> list[Row]:
        loans = _loans(scope).filter(**{f"{_RUN}__in": [run.pk for run in runs]})
        figures = _grouped(loans, _RUN, lead_set)
        return [_run_row(run, figures[run.pk]) for run in runs]

    return DeskReport(
        heading="Costs by run",
        sentence=cost_sentence(scope, total, lead_set),
        caption="What the loans of a course run cost",
        columns=[
            ReportColumn("Run"),
            ReportColumn("Loans", ColumnKind.COUNT),
            *_money_columns(),
            ReportColumn("A loan", ColumnKind.MONEY, Practice.current().currency),
        ],
        things=CourseRun.objects.filter(pk__in=_loans(scope).values(_RUN)),
        rows_of=rows_of,
        basis=[*BASIS, *_besides(scope)],
        empty=EMPTY,
        chart_of=_chart_of_runs,
    )


def _run_row(run: CourseRun, figures: CostFigures) -> Row:
    page = Linked(run.name, run.get_absolute_url())
    return (page, figures.loans, *figures.values, figures.each)


def _chart_of_runs(rows: Sequence[Row]) -> BarChart | None:
    currency = Practice.current().currency
    caption = "Each bar is what a loan of the run cost the practice, in the mean of its loans."
    facts = [_run_bar(row, currency) for row in rows]
    return bar_chart("Cost of a loan, by run", caption, facts)


def _run_bar(row: Row, currency: str) -> BarFact:
    name, loans, each = row[0], row[1], row[-1]
    assert isinstance(name, Linked)
    assert isinstance(loans, int)
    assert isinstance(each, Decimal)
    words = f"{money_text(each, currency)}, {counted(loans, 'loan', 'loans')}"
    return BarFact(name.words, max(float(each), 0.0), words)


def costs_by_loan(scope: ReportScope) -> DeskReport:
    """What each loan cost, the last to end first."""
    lead_set = lead_set_cost()

    def rows_of(loans: Sequence[Loan]) -> list[Row]:
        chosen = Loan.objects.filter(pk__in=[loan.pk for loan in loans]).order_by()
        figures = _grouped(chosen, "pk", lead_set)
        return [_loan_row(loan, figures[loan.pk]) for loan in loans]

    total = cost_total(scope, lead_set)
    ended = _loans(scope).select_related("kit", "enrolment__run")
    return DeskReport(
        heading="Costs by loan",
        sentence=cost_sentence(scope, total, lead_set),
        caption="What each loan cost",
        columns=[
            ReportColumn("Kit"),
            ReportColumn("Run"),
            ReportColumn("Ended on", ColumnKind.DAY),
            *_money_columns(),
        ],
        things=ended.order_by("-closed_at", "-pk"),
        rows_of=rows_of,
        basis=[*BASIS, *_besides(scope)],
        empty=EMPTY,
        chart_of=lambda _: _chart_of_causes(total),
        twin=_table_of_causes(total),
    )


def _loan_row(loan: Loan, figures: CostFigures) -> Row:
    ended_on = timezone.localdate(loan.closed_at) if loan.closed_at else None
    kit = Linked(loan.kit.code, loan.get_absolute_url(), code=True)
    return (kit, loan.enrolment.run.name, ended_on, *figures.values)


def _causes(total: CostFigures) -> list[tuple[str, Decimal]]:
    """What a loan costs in the mean, by cause."""
    sums = {
        "Parts lost or damaged": total.parts,
        "Stock used": total.stock,
        "Wear of lead sets": total.wear or Decimal(0),
        "Borne by students": -total.borne.from_students,
        "Paid by carriers": -total.borne.from_carriers,
    }
    return [(words, amount / max(total.loans, 1)) for words, amount in sums.items()]


def _chart_of_causes(total: CostFigures) -> BarChart | None:
    currency = Practice.current().currency
    facts = [
        BarFact(words, abs(float(amount)), money_text(amount, currency))
        for words, amount in _causes(total)
    ]
    caption = "Each bar is a cause of cost, a loan in the mean; what others bear is taken off."
    return bar_chart("What a loan costs, by cause", caption, facts)


def _table_of_causes(total: CostFigures) -> ReportTable:
    currency = Practice.current().currency
    columns = [ReportColumn("Cause"), ReportColumn("A loan", ColumnKind.MONEY, currency)]
    return ReportTable("What a loan costs, by cause", columns, _causes(total))


def cost_sentence(scope: ReportScope, total: CostFigures, lead_set: LoanCost | None) -> str:
    """The result in words; empty where no loan ended."""
    currency = Practice.current().currency
    if not total.loans:
        return ""
    loans = counted(total.loans, "loan", "loans")
    each, parts = money_text(total.each, currency), money_text(total.parts, currency)
    stock = money_text(total.stock, currency)
    students = money_text(total.borne.from_students, currency)
    carriers = money_text(total.borne.from_carriers, currency)
    return (
        f"{scope.words}: a loan cost {each} in the mean of {loans}. Together they took {parts} of"
        f" parts, {stock} of stock and {_wear_words(total, lead_set, currency)}; students bore"
        f" {students}, carriers {carriers}."
    )


def _wear_words(total: CostFigures, lead_set: LoanCost | None, currency: str) -> str:
    if lead_set is None or total.wear is None:
        return "a wear of lead sets that is not known yet"
    low, mean = money_text(lead_set.low, currency), money_text(lead_set.mean, currency)
    high = money_text(lead_set.high, currency) if lead_set.high else "not known"
    wear = money_text(total.wear, currency)
    return f"{wear} of lead-set wear ({mean} a set and loan, {low} to {high})"


def _besides(scope: ReportScope) -> list[str]:
    """Sentences on what the sums leave out."""
    currency = Practice.current().currency
    return [*_worn_out(scope), *other_currencies(ended_loans(scope, "loan__"), currency)]


def _worn_out(scope: ReportScope) -> list[str]:
    """A sentence on parts put out of use as worn out in these days, which no single loan bears."""
    if scope.run is not None:
        return []
    worn = Part.objects.filter(ended_as=PartEnd.WORN).exclude(kind=PartKind.LEAD_SET)
    if scope.since:
        worn = worn.filter(ended_on__gte=scope.since)
    if scope.until:
        worn = worn.filter(ended_on__lte=scope.until)
    number = worn.count()
    if not number:
        return []
    parts = counted(number, "part other than a lead set was", "parts other than lead sets were")
    return [f"{parts} put out of use as worn out in these days; no loan bears them."]


def _money_columns() -> list[ReportColumn]:
    currency = Practice.current().currency
    labels = (
        "Parts",
        "Stock used",
        "Lead-set wear",
        "From students",
        "From carriers",
        "Cost",
    )
    return [ReportColumn(label, ColumnKind.MONEY, currency) for label in labels]
