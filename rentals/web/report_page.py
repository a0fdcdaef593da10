"""A report as a page with its filter, and as a file."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import islice
from typing import Any

from django import forms
from django.db.models import QuerySet
from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse

from rentals.reports.report import DeskReport
from rentals.reports.scope import ReportScope
from rentals.reports.table import FileCell, ReportTable, file_head, file_row
from rentals.selectors.errands import errands_about
from rentals.selectors.export import ROWS_AT_ONCE, rows_in_parts, streamed_rows

from .finding import page_of
from .request import DeskRequest
from .run_choice import RunChoice
from .table_file import TableFile, format_or_404

ReportMaker = Callable[[ReportScope], DeskReport]
FIRST_DAY, LAST_DAY = date(1990, 1, 1), date(2199, 12, 31)


class _DayInput(forms.DateInput):
    """The browser's own calendar."""

    input_type = "date"

    def __init__(self) -> None:
        super().__init__(format="%Y-%m-%d")


def _day_field(label: str) -> forms.DateField:
    return forms.DateField(
        label=label,
        required=False,
        widget=_DayInput(),
        error_messages={"invalid": "This is no day. Write it as 2027-03-31, or leave it open."},
    )


class ScopeForm(forms.Form):
    """Days and run that a report speaks of, from the address."""

    since = _day_field("From")
    until = _day_field("To")
    run = RunChoice(
        label="Run",
        empty_label="all runs",
        error_messages={"invalid_choice": "This run is not on file. Choose another, or all."},
    )

    def clean_since(self) -> date | None:
        """The day, within the years of a desk."""
        return _within_years(self.cleaned_data["since"])

    def clean_until(self) -> date | None:
        """The day, within the years of a desk."""
        return _within_years(self.cleaned_data["until"])

    def clean(self) -> dict[str, Any]:
        """Refuse days in the wrong order."""
        data = super().clean() or self.cleaned_data
        since, until = data.get("since"), data.get("until")
        if since and until and until < since:
            self.add_error("until", "This is before the first day. Swap them, or leave one open.")
        return data

    def scope(self, *, named: bool) -> ReportScope:
        """What a form without errors asks for."""
        data, run = self.cleaned_data, self.cleaned_data["run"]
        if run is None:
            return ReportScope(data["since"], data["until"], named=named)
        return ReportScope(data["since"], data["until"], run.pk, run.name, named)


def _within_years(day: date | None) -> date | None:
    if day and not FIRST_DAY <= day <= LAST_DAY:
        raise forms.ValidationError("Give a day between 1990 and 2199, or leave it open.")
    return day


@dataclass(frozen=True)
class ReportPage:
    """A report by the address of its page; `label` tells it from those beside it."""

    name: str
    label: str
    make: ReportMaker

    @property
    def url(self) -> str:
        return reverse(self.name)

    @property
    def file_route(self) -> str:
        """The name of the address of its files."""
        return f"{self.name}_file"


def report_page(
    request: DeskRequest, shown: ReportPage, beside: Sequence[ReportPage] = ()
) -> HttpResponse:
    """A report for the days and the run in the address, with links to those `beside` it."""
    form = ScopeForm(request.GET)
    errands = errands_about(request.path, request.user)
    context: dict[str, Any] = {"form": form, "shown": shown, "beside": beside, "errands": errands}
    if form.is_valid():
        report = shown.make(form.scope(named=True))
        page = page_of(request, report.things)
        rows = report.rows_of(list(page))
        chart = report.chart_of(rows) if report.chart_of and rows else None
        table = ReportTable(report.caption, report.columns, rows)
        context |= {"report": report, "page": page, "table": table, "chart": chart}
    return render(request, "rentals/report/report.html", context)


def report_file(request: DeskRequest, shown: ReportPage, form: str) -> TableFile | HttpResponseBase:
    """The table of a report as a CSV or XLSX file, all its rows; names of students only where they
    were asked for. Days that cannot be read lead back to the page, which says so.
    """
    chosen = format_or_404(form)
    asked = ScopeForm(request.GET)
    if not asked.is_valid():
        return redirect(f"{shown.url}?{request.GET.urlencode()}")
    report = shown.make(asked.scope(named="names" in request.GET))
    rows = streamed_rows(file_head(report.columns), _file_rows(report), chosen)
    name = report.heading.lower().replace(" ", "-")
    return TableFile(name, chosen, _count(report.things), rows, shown.url)


def _count(things: Any) -> int:
    return things.count() if isinstance(things, QuerySet) else len(things)


def _file_rows(report: DeskReport) -> Iterator[list[FileCell]]:
    """All rows, so many at once that the queries of `rows_of` stay few and the memory small."""
    things = report.things
    all_of_them = rows_in_parts(things) if isinstance(things, QuerySet) else iter(things)
    while some := list(islice(all_of_them, ROWS_AT_ONCE)):
        for row in report.rows_of(some):
            yield file_row(report.columns, row)
