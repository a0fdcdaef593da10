"""The plan's page of lead sets: how long they last, what they cost, when to buy."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from rentals.models import LeadSet, Practice
from rentals.planning.lead_life import LeadRecord
from rentals.planning.lead_words import buy_sentence, cost_sentence, life_sentences
from rentals.planning.life_chart import life_chart
from rentals.selectors.export import ROWS_AT_ONCE, export_lead_sets
from rentals.selectors.lead_sets import (
    lead_set_price,
    lead_sets,
    lead_sets_in_turn,
    planned_lead_loans,
)
from rentals.states import PartEnd
from rentals.web.finding import page_of
from rentals.web.request import DeskRequest
from rentals.web.table_file import TableFile, format_or_404, sent_as_file


@require_safe
def leads(request: DeskRequest) -> HttpResponse:
    """One chart, its sentence, what the planned runs may take, and every set."""
    today, practice = timezone.localdate(), Practice.current()
    rows = lead_sets(today)
    context: dict[str, Any] = {"page": page_of(request, rows)}
    if rows:
        record, service = LeadRecord(row.life for row in rows), practice.stock_service / 100
        needs = record.spare_needs(planned_lead_loans(today), service)
        price, locale = lead_set_price(), settings.LANGUAGE_CODE
        context |= {
            "buy": buy_sentence(record, needs, service),
            "life": life_sentences(record),
            "cost": cost_sentence(record, price, practice.currency, locale),
            "chart": life_chart(record.by_loans),
            "needs": needs,
            "service": practice.stock_service,
            "causes": [(_cause_words(cause), count) for cause, count in record.causes],
        }
    return render(request, "rentals/plan/lead_sets.html", context)


def _cause_words(cause: str) -> str:
    return str(PartEnd(cause).label) if cause else "not said"


@sent_as_file
def leads_export(request: DeskRequest, form: str) -> TableFile:
    """Every lead set, as a CSV or XLSX file."""
    chosen = format_or_404(form)
    rows = lead_sets_in_turn(timezone.localdate(), ROWS_AT_ONCE)
    pieces, home = export_lead_sets(rows, chosen), reverse("rentals:plan_leads")
    return TableFile("lead-sets", chosen, LeadSet.objects.count(), pieces, home)
