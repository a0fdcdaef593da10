"""A run on paper: the pick sheet and every packing list in one PDF."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from rentals.models import OPEN_STAGES, CourseRun, Loan
from rentals.paper.pick_sheet import run_papers
from rentals.selectors.paper_facts.packing_lists import run_facts
from rentals.selectors.paper_facts.practice import house_fonts

from .labels import pdf_answer, sender_facts


@require_safe
def packing_lists(request: HttpRequest, pk: int) -> HttpResponse:
    """One PDF to print: what to fetch, then a list for each parcel."""
    run = get_object_or_404(CourseRun, pk=pk)
    if not Loan.objects.filter(enrolment__run=run, stage__in=OPEN_STAGES).exists():
        messages.info(
            request, "No kit is assigned to this run yet, so there is no packing list to print."
        )
        return HttpResponseRedirect(run.get_absolute_url())
    facts = run_facts(run, practice=sender_facts(request))
    printed = run_papers(
        facts, inside_copy=request.GET.get("copy") == "inside", fonts=house_fonts()
    )
    return pdf_answer(printed, f"packing-lists-{slugify(run.name) or run.pk}")
