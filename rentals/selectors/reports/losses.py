"""Reports of what is lost: pieces that did not come back, or came back damaged, by kind of part and
by run; who bears them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import partial
from typing import Any

from django.db.models import Count, F, Q, QuerySet, Sum

from rentals.counts import counted
from rentals.models import CourseRun, PackingLine, PartKind, Practice
from rentals.planning.money import money_text
from rentals.reports.bars import BarChart, BarFact, bar_chart
from rentals.reports.report import DeskReport
from rentals.reports.scope import ReportScope
from rentals.reports.table import ColumnKind, CountedShare, Linked, ReportColumn, Row
from rentals.states import UNSETTLED_STATES, ShortfallState

from .booked import (
    BookedSums,
    booked_in_all,
    booked_sums,
    other_currencies,
    shortfalls_in,
)
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
    "Charged and written off are the entries of the ledger that stand; open is the worth of what is"
    " not decided.",
)
_RUN = "loan__enrolment__run"
_ENDS = {
    "recovered": Q(shortfall__state=ShortfallState.RECOVERED),
    "charged": Q(shortfall__state=ShortfallState.CHARGED),
    "written_off": Q(shortfall__state=ShortfallState.WAIVED),
    "still_open": Q(shortfall__state__in=UNSETTLED_STATES),
}


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


@dataclass(frozen=True)
class _Money:
    """The sums behind some lines: what the ledger holds, and the worth of what is undecided."""

    booked: Mapping[Any, BookedSums]
    still_open: Mapping[Any, Decimal]


def _counts() -> dict[str, Any]:
    return {
        "loans": Count("loan", distinct=True),
        "short_loans": Count("loan", filter=Q(shortfall__isnull=False), distinct=True),
        "pieces": Sum("quantity"),
        "short": Sum("shortfall__quantity"),
        **{name: Sum("shortfall__quantity", filter=end) for name, end in _ENDS.items()},
    }


def _money(loans: Callable[[str], Q], by_line: str) -> _Money:
    """The money of loans by the field `by_line` of a packing line; `loans` makes the condition for
    a way to them. Two queries.
    """
    currency = Practice.current().currency
    of_shortfall = Q(shortfall__isnull=False)
    booked = booked_sums(
        loans("loan__") & of_shortfall, f"shortfall__packing_line__{by_line}", currency
    )
    short = shortfalls_in(loans("loan__"), currency).filter(state__in=UNSETTLED_STATES)
    open_sums = short.values(key=F(f"packing_line__{by_line}")).annotate(worth=Sum("amount"))
    return _Money(booked, {row["key"]: row["worth"] for row in open_sums})


def _figures(row: Mapping[str, Any], money: _Money, key: Any) -> LossFigures:
    """A grouped row with its sums; the database says nothing where it summed nothing."""
    names = ("loans", "short_loans", "pieces", "short", *_ENDS)
    numbers: dict[str, Any] = {name: row.get(name) or 0 for name in names}
    booked = money.booked.get(key, BookedSums())
    return LossFigures(
        **numbers,
        charged_sum=booked.charged,
        written_off_sum=booked.written_off,
        still_open_sum=money.still_open.get(key, Decimal(0)),
    )


def _lines(loans: Q) -> QuerySet[PackingLine]:
    """What should have come back with loans."""
    return PackingLine.objects.filter(loans, comes_back=True).order_by()


def loss_total(scope: ReportScope) -> LossFigures:
    """All losses of a scope; three queries."""
    money = _money(partial(ended_loans, scope), "part_kind")
    total = booked_in_all(money.booked.values())
    open_sum = sum(money.still_open.values(), Decimal(0))
    counts = _lines(ended_loans(scope, "loan__")).aggregate(**_counts())
    return _figures(counts, _Money({None: total}, {None: open_sum}), None)


def losses_by_kind(scope: ReportScope) -> DeskReport:
    """Losses of each kind of part, those that are short most often first."""
    money = _money(partial(ended_loans, scope), "part_kind")
    rows = _lines(ended_loans(scope, "loan__")).values("part_kind").annotate(**_counts())
    by_kind = [
        (PartKind(row["part_kind"]).label, _figures(row, money, row["part_kind"])) for row in rows
    ]
    by_kind.sort(key=lambda pair: (-(pair[1].share.share or 0), pair[0]))
    return _report(
        scope,
        "kind of part",
        things=by_kind,
        rows_of=lambda kinds: [(label, *figures.values) for label, figures in kinds],
    )


def losses_by_run(scope: ReportScope) -> DeskReport:
    """Losses of each course run, the newest first."""

    def rows_of(runs: Sequence[CourseRun]) -> list[Row]:
        def of_runs(way: str) -> Q:
            return ended_loans(scope, way) & Q(**{f"{way}enrolment__run__in": runs})

        money, lines = _money(of_runs, _RUN), _lines(of_runs("loan__"))
        grouped = {row[_RUN]: row for row in lines.values(_RUN).annotate(**_counts())}
        return [
            (
                Linked(run.name, run.get_absolute_url()),
                *_figures(grouped[run.pk], money, run.pk).values,
            )
            for run in runs
        ]

    ended = _lines(ended_loans(scope, "loan__")).values(_RUN)
    return _report(scope, "run", things=CourseRun.objects.filter(pk__in=ended), rows_of=rows_of)


def _report(
    scope: ReportScope, by: str, *, things: Any, rows_of: Callable[[Sequence[Any]], list[Row]]
) -> DeskReport:
    currency = Practice.current().currency
    return DeskReport(
        heading=f"Losses by {by}",
        sentence=loss_sentence(scope),
        caption=f"What came back short, by {by}",
        columns=_columns(by.capitalize()),
        things=things,
        rows_of=rows_of,
        basis=[*BASIS, *other_currencies(ended_loans(scope, "loan__"), currency)],
        empty=EMPTY,
        chart_of=lambda rows: _chart(f"Loans that came back short, by {by}", rows),
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
