"""The plan's shopping list: on screen, as a file, on paper."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from rentals.models import Practice
from rentals.paper.shopping_list import shopping_list_paper
from rentals.selectors.errands import errands_about
from rentals.selectors.export import export_shopping
from rentals.selectors.paper_facts.practice import house_fonts
from rentals.selectors.paper_facts.shopping import shopping_facts
from rentals.selectors.shopping_list import (
    ORDERED,
    shopping_list,
    shopping_listed,
    total_cost,
)
from rentals.web.filters import FilterChoice, list_filter
from rentals.web.finding import page_of
from rentals.web.request import DeskRequest
from rentals.web.table_file import TableFile, format_or_404, sent_as_file

from .printing import pdf_answer, sender_facts

SHOWN = FilterChoice("show", "Show", [("", "all items"), (ORDERED, "to be ordered")])


@require_safe
def shopping(request: DeskRequest) -> HttpResponse:
    """What is here, what the planned runs need, what to order by which day."""
    wanted = list_filter(request, SHOWN)
    practice = Practice.current()
    rows = shopping_list(timezone.localdate(), practice)
    page = page_of(request, shopping_listed(rows, wanted.words, wanted.chosen("show")))
    due = sum(row.due for row in rows)
    context = {
        "page": page,
        "total": len(rows),
        "due": due,
        "later": sum(row.ordered for row in rows) - due,
        "cost": total_cost(rows),
        "service": practice.stock_service,
        "errands": errands_about(request.path, request.user),
        **wanted.context(),
    }
    return render(request, "rentals/plan/stock.html", context)


@sent_as_file
def shopping_export(request: DeskRequest, form: str) -> TableFile:
    """The list as the filter shows it, as a CSV or XLSX file."""
    chosen, wanted = format_or_404(form), list_filter(request, SHOWN)
    rows = shopping_list(timezone.localdate())
    listed = shopping_listed(rows, wanted.words, wanted.chosen("show"))
    pieces, home = export_shopping(listed, chosen), reverse("rentals:plan_stock")
    return TableFile("shopping-list", chosen, len(listed), pieces, home)


@require_safe
def shopping_pdf(request: DeskRequest) -> HttpResponse:
    """What is to be ordered, as PDF."""
    rows = shopping_list(timezone.localdate())
    facts = shopping_facts(rows, sender_facts(request))
    return pdf_answer(shopping_list_paper(facts, fonts=house_fonts()), "shopping-list")
