"""Who has what, as the filter of Receive shows it: as a file, and as a page to print."""

from __future__ import annotations

from datetime import date

from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from rentals.models import Loan
from rentals.selectors.export import export_out
from rentals.selectors.returns import loans_out, out_row
from rentals.web.filters import FilterChoice, ListFilter, list_filter
from rentals.web.finding import page_of
from rentals.web.request import DeskRequest
from rentals.web.table_file import TableFile, format_or_404, sent_as_file

FILTERS = [("", "all that are out"), ("check", "back, to check"), ("overdue", "overdue")]
#: One printed list; a larger fleet is printed page by page.
ROWS_PRINTED = 400


def loans_wanted(request: DeskRequest, today: date) -> tuple[ListFilter, QuerySet[Loan]]:
    """The filter that the address asks for, and the loans that fit it."""
    wanted = list_filter(request, FilterChoice("show", "Show", FILTERS))
    return wanted, loans_out(wanted.words, wanted.chosen("show"), today)


@sent_as_file
def out_export(request: DeskRequest, form: str) -> TableFile:
    """The list as the filter shows it, as a CSV or XLSX file."""
    chosen, today = format_or_404(form), timezone.localdate()
    _, loans = loans_wanted(request, today)
    pieces, home = export_out(loans, today, chosen), reverse("rentals:receive")
    return TableFile("who-has-what", chosen, loans.count(), pieces, home)


@require_safe
def out_print(request: DeskRequest) -> HttpResponse:
    """The same on one page to print."""
    today = timezone.localdate()
    wanted, loans = loans_wanted(request, today)
    page = page_of(request, loans, ROWS_PRINTED)
    context = {
        "page": page,
        "rows": [out_row(loan, today) for loan in page],
        "today": today,
        "q": wanted.words,
        "shown": dict(FILTERS).get(wanted.chosen("show"), FILTERS[0][1]),
    }
    return render(request, "rentals/receive/print.html", context)
