"""The report of what the bench caught before it reached a student."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from statistics import median

from readiness.states import VerdictWord
from rentals.counts import counted
from rentals.reports.bars import BarChart, BarFact, bar_chart
from rentals.reports.report import DeskReport
from rentals.reports.scope import ReportScope
from rentals.reports.table import ColumnKind, CountedShare, Linked, ReportColumn, ReportTable, Row

from .caught import CaughtReturn, caught_in_full, caught_returns, returns_tested

EMPTY = "Once kits have come back and were tested, this page says what the bench found in them."
NONE_CAUGHT = "No returned kit was refused or had to be tested again."
BASIS = (
    "Counted are kits that came back in these days and were tested before they went out again."
    " Caught is one of whose captures at least one was not fit, or to be tested again; captures set"
    " aside do not count. One kit may show several findings.",
    "The next parcel is that of the kit's next loan; without one, that of the next run which takes"
    " its type of kit. Days are counted from the first capture that caught it.",
)
_COLUMNS = (
    ReportColumn("Kit"),
    ReportColumn("Back from"),
    ReportColumn("Caught on", ColumnKind.DAY),
    ReportColumn("Verdict"),
    ReportColumn("Found"),
    ReportColumn("Next parcel", ColumnKind.DAY),
    ReportColumn("Days before it", ColumnKind.COUNT),
    ReportColumn("Then"),
)


def caught_before_issue(scope: ReportScope) -> DeskReport:
    """What the bench caught, return by return and by finding."""
    caught, tested = caught_returns(scope), returns_tested(scope).count()
    every = caught_in_full(list(caught))
    shares = _by_finding(every, tested)
    return DeskReport(
        heading="What the bench caught",
        sentence=_sentence(scope, every, tested),
        caption="Returned kits that the bench refused or asked to test again",
        columns=_COLUMNS,
        things=caught.select_related("kit", "enrolment__run"),
        rows_of=lambda loans: [_row(each) for each in caught_in_full(loans)],
        basis=BASIS,
        empty=NONE_CAUGHT if tested else EMPTY,
        chart_of=lambda _: _chart(shares),
        twin=_table(shares),
    )


def _row(caught: CaughtReturn) -> Row:
    kit = caught.loan.kit
    verdict = VerdictWord.NOT_FIT if caught.refused else VerdictWord.RETEST
    return (
        Linked(kit.code, kit.get_absolute_url(), code=True),
        caught.loan.enrolment.run.name,
        caught.caught_on,
        str(verdict.label),
        ", ".join(caught.findings),
        caught.next_parcel,
        caught.days,
        ", ".join(caught.followed) or "still waits",
    )


def _sentence(scope: ReportScope, every: Sequence[CaughtReturn], tested: int) -> str:
    """The result in words; empty where no returned kit was tested."""
    if not tested:
        return ""
    share = CountedShare(len(every), tested)
    kits = counted(tested, "returned kit", "returned kits")
    refused = sum(caught.refused for caught in every)
    again = len(every) - refused
    return (
        f"{scope.words}: of {kits} that were tested the bench caught {len(every)}, {share.words}:"
        f" {refused} not fit, {again} to be tested again.{_ahead(every)}"
    )


def _ahead(every: Sequence[CaughtReturn]) -> str:
    days = [caught.days for caught in every if caught.days is not None]
    if not days:
        return ""
    middle, least = counted(round(median(days)), "day", "days"), min(days)
    return f" That was {middle} before the next parcel in the middle, {least} at the least."


def _by_finding(every: Sequence[CaughtReturn], tested: int) -> list[tuple[str, CountedShare]]:
    """Returns that showed each finding, the most frequent first."""
    numbers = Counter(finding for caught in every for finding in caught.findings)
    return [(words, CountedShare(number, tested)) for words, number in numbers.most_common()]


def _chart(shares: Sequence[tuple[str, CountedShare]]) -> BarChart | None:
    facts = [
        BarFact(words, share.share or 0.0, f"{share.hits} of {share.trials}", share.bounds)
        for words, share in shares
    ]
    caption = (
        "Each bar is the share of tested returns with that finding, the stroke where it lies with"
        " 95 %."
    )
    return bar_chart("What was found", caption, facts)


def _table(shares: Sequence[tuple[str, CountedShare]]) -> ReportTable:
    columns = [ReportColumn("Found"), ReportColumn("Tested returns", ColumnKind.SHARE)]
    return ReportTable("Findings against returned kits", columns, shares)
