"""Reports: what is lost, who uses what, what it costs."""

from __future__ import annotations

from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.views.decorators.http import require_safe

from rentals.selectors.reports.costs import costs_by_loan, costs_by_run
from rentals.selectors.reports.losses import losses_by_kind, losses_by_run
from rentals.selectors.reports.use import use_by_run, use_by_student
from rentals.web.report_page import ReportPage, report_file, report_page
from rentals.web.request import DeskRequest
from rentals.web.table_file import TableFile, sent_as_file

#: Reports on one matter stand beside each other.
_MATTERS = (
    (
        ReportPage("rentals:report_losses", "By kind of part", losses_by_kind),
        ReportPage("rentals:report_losses_by_run", "By run", losses_by_run),
    ),
    (
        ReportPage("rentals:report_use", "By run", use_by_run),
        ReportPage("rentals:report_use_by_student", "By student", use_by_student),
    ),
    (
        ReportPage("rentals:report_costs", "By run", costs_by_run),
        ReportPage("rentals:report_costs_by_loan", "By loan", costs_by_loan),
    ),
)
#: Each report by its name, with those of its matter.
REPORTS = {
    page.name.removeprefix("rentals:report_"): (page, matter)
    for matter in _MATTERS
    for page in matter
}


@require_safe
def reports(request: DeskRequest) -> HttpResponse:
    """The questions that reports answer."""
    return render(request, "rentals/report/index.html")


@require_safe
def report(request: DeskRequest, name: str) -> HttpResponse:
    """One report."""
    return report_page(request, *REPORTS[name])


@sent_as_file
def export_report(request: DeskRequest, name: str, form: str) -> TableFile | HttpResponseBase:
    """One report as a file."""
    return report_file(request, REPORTS[name][0], form)
