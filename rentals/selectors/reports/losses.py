"""Reports of what is lost: pieces that did not come back, or came back damaged, by kind of part and
by run; who bears them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import Count, Q, QuerySet, Sum

from rentals.counts import counted
from rentals.models import CourseRun, PackingLine, PartKind, Practice
from rentals.planning.money import money_text
from rentals.reports.bars import BarChart, BarFact, bar_chart
from rentals.reports.report import DeskReport
from rentals.reports.scope import ReportScope
from rentals.reports.table import ColumnKind, CountedShare, Linked, ReportColumn, Row
from rentals.states import UNSETTLED_STATES, ShortfallState

from .scopes import ended_loans

EMPTY = (
    "Once kits have come back and were checked, this page says what was missing or damaged, how"
    " often, and who paid."
)
BASIS = (
    "Counted are loans that ended in these days: checked in, or written off. A loan is short where"
    " at least one piece did not come back or came back damaged, recovered later or not.",
    "The range behind a share is where it lies with 95 % (Wilson). Its unit is the loan, not the"
    " piece: what one lost parcel held was lost together.",
)
_RUN = "loan__enrolment__run"
_ENDS = {
    "recovered": Q(shortfall__state=ShortfallState.RECOVERED),
    "charged": Q(shortfall__state=ShortfallState.CHARGED),
    "written_off": Q(shortfall__state=ShortfallState.WAIVED),
    "still_open": Q(shortfall__state__in=UNSETTLED_STATES),
}
_PRICED = ("charged", "written_off", "still_open")


@dataclass(frozen=True)
class LossFigures:
    """Loans and pieces that came due, what of them was short, and what became of that."""

    loans: int
    short_loans: int
    pieces: int
    short: int
    recovered: int
    charged: int
    written_off: int
    still_open: int
    charged_sum: Decimal
    written_off_sum: Decimal
    still_open_sum: Decimal

    @property
    def share(self) -> CountedShare:
        """Loans that were short, of those that ended."""
        return CountedShare(self.short_loans, self.loans)

    @property
    def values(self) -> Row:
        """The cells behind the name of a row."""
        return (
            self.share,
            self.pieces,
            self.short,
            self.recovered,
            self.charged,
            self.written_off,
            self.still_open,
            self.charged_sum,
            self.written_off_sum,
            self.still_open_sum,
        )


def _counts() -> dict[str, Any]:
    pieces = {name: Sum("shortfall__quantity", filter=end) for name, end in _ENDS.items()}
    sums = {f"{name}_sum": Sum("shortfall__amount", filter=_ENDS[name]) for name in _PRICED}
    return {
        "loans": Count("loan", distinct=True),
        "short_loans": Count("loan", filter=Q(shortfall__isnull=False), distinct=True),
        "pieces": Sum("quantity"),
        "short": Sum("shortfall__quantity"),
        **pieces,
        **sums,
    }


def _figures(row: Mapping[str, Any]) -> LossFigures:
    """A grouped row; the database says nothing where it summed nothing."""
    names = ("loans", "short_loans", "pieces", "short", *_ENDS)
    numbers: dict[str, Any] = {name: row[name] or 0 for name in names}
    sums = {f"{name}_sum": row[f"{name}_sum"] or Decimal(0) for name in _PRICED}
    return LossFigures(**(numbers | sums))


def _lines(scope: ReportScope) -> QuerySet[PackingLine]:
    """What should have come back with the loans that ended."""
    return PackingLine.objects.filter(ended_loans(scope, "loan__"), comes_back=True).order_by()


def loss_total(scope: ReportScope) -> LossFigures:
    """All losses of a scope; one query."""
    return _figures(_lines(scope).aggregate(**_counts()))


def losses_by_kind(scope: ReportScope) -> DeskReport:
    """Losses of each kind of part, those that are short most often first."""
    rows = _lines(scope).values("part_kind").annotate(**_counts())
    by_kind = [(PartKind(row["part_kind"]).label, _figures(row)) for row in rows]
    by_kind.sort(key=lambda pair: (-(pair[1].share.share or 0), pair[0]))
    return DeskReport(
        heading="Losses by kind of part",
        sentence=loss_sentence(scope),
        caption="What came back short, by kind of part",
        columns=_columns("Kind of part"),
        things=by_kind,
        rows_of=lambda kinds: [(label, *figures.values) for label, figures in kinds],
        basis=BASIS,
        empty=EMPTY,
        chart_of=lambda rows: _chart("Loans short of it, by kind of part", rows),
    )


def losses_by_run(scope: ReportScope) -> DeskReport:
    """Losses of each course run, the newest first."""

    def rows_of(runs: Sequence[CourseRun]) -> list[Row]:
        grouped = _lines(scope).filter(**{f"{_RUN}__in": runs}).values(_RUN)
        figures = {row[_RUN]: _figures(row) for row in grouped.annotate(**_counts())}
        pages = [(Linked(run.name, run.get_absolute_url()), figures[run.pk]) for run in runs]
        return [(page, *each.values) for page, each in pages]

    ended = _lines(scope).values(_RUN)
    return DeskReport(
        heading="Losses by run",
        sentence=loss_sentence(scope),
        caption="What came back short, by course run",
        columns=_columns("Run"),
        things=CourseRun.objects.filter(pk__in=ended),
        rows_of=rows_of,
        basis=BASIS,
        empty=EMPTY,
        chart_of=lambda rows: _chart("Loans that came back short, by run", rows),
    )


def loss_sentence(scope: ReportScope) -> str:
    """The result in words; empty where no loan ended."""
    total, currency = loss_total(scope), Practice.current().currency
    if not total.loans:
        return ""
    loans = counted(total.loans, "loan", "loans")
    if not total.short:
        _, high = total.share.bounds or (0.0, 1.0)
        return (
            f"{scope.words}: all that should come back did, of {loans}. With so many, up to"
            f" {round(100 * high)} % of loans may in truth come back short."
        )
    short = counted(total.short, "piece", "pieces")
    charged, open_sum = money_text(total.charged_sum, currency), total.still_open_sum
    return (
        f"{scope.words}: {total.short_loans} of {loans} came back short, {total.share.words}."
        f" {short} lacked or damaged: {total.recovered} recovered,"
        f" {total.charged} charged ({charged}),"
        f" {total.written_off} written off ({money_text(total.written_off_sum, currency)}),"
        f" {total.still_open} not settled yet ({money_text(open_sum, currency)})."
    )


def _columns(first: str) -> list[ReportColumn]:
    currency = Practice.current().currency
    return [
        ReportColumn(first),
        ReportColumn("Loans short", ColumnKind.SHARE),
        ReportColumn("Pieces due", ColumnKind.COUNT),
        ReportColumn("Short", ColumnKind.COUNT),
        ReportColumn("Recovered", ColumnKind.COUNT),
        ReportColumn("Charged", ColumnKind.COUNT),
        ReportColumn("Written off", ColumnKind.COUNT),
        ReportColumn("Open", ColumnKind.COUNT),
        ReportColumn("Charged", ColumnKind.MONEY, currency),
        ReportColumn("Written off", ColumnKind.MONEY, currency),
        ReportColumn("Open", ColumnKind.MONEY, currency),
    ]


def _chart(title: str, rows: Sequence[Row]) -> BarChart | None:
    facts = [_bar(row) for row in rows]
    caption = (
        "Each bar is the share of loans that were short, the stroke where it lies with 95 %."
        " Few loans make a long stroke."
    )
    return bar_chart(title, caption, facts)


def _bar(row: Row) -> BarFact:
    name, share = row[0], row[1]
    words = name.words if isinstance(name, Linked) else str(name)
    assert isinstance(share, CountedShare)
    number = f"{share.hits} of {share.trials}, {round(100 * (share.share or 0))} %"
    return BarFact(words, share.share or 0.0, number, share.bounds)
