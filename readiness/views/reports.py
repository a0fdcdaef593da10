"""Reports that the bench answers: the fleet's health, and what was caught before it went out."""

from __future__ import annotations

from django.http import HttpResponse, HttpResponseBase
from django.views.decorators.http import require_safe

from readiness.selectors.caught_report import caught_before_issue
from readiness.selectors.fleet_health import fleet_health
from rentals.web.report_page import ReportPage, report_file, report_page
from rentals.web.request import DeskRequest
from rentals.web.table_file import TableFile, sent_as_file

#: Each report by the word in its address.
BENCH_REPORTS = {
    "fleet": ReportPage("bench_reports:fleet", "Health of the fleet", fleet_health),
    "caught": ReportPage("bench_reports:caught", "What the bench caught", caught_before_issue),
}


@require_safe
def bench_report(request: DeskRequest, name: str) -> HttpResponse:
    """One report."""
    return report_page(request, BENCH_REPORTS[name], tuple(BENCH_REPORTS.values()))


@sent_as_file
def export_bench_report(request: DeskRequest, name: str, form: str) -> TableFile | HttpResponseBase:
    """One report as a file."""
    return report_file(request, BENCH_REPORTS[name], form)
