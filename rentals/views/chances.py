"""How many kits will be ready for the coming runs, and how sure that is."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from rentals.selectors.run_chances import forecast
from rentals.selectors.run_outlook import coming_runs, outlook
from rentals.web.finding import page_of
from rentals.web.request import DeskRequest

RUNS_A_PAGE = 5


@require_safe
def chances(request: DeskRequest) -> HttpResponse:
    """The coming runs with their chances, the first to be posted first."""
    today = timezone.localdate()
    page = page_of(request, coming_runs(today), RUNS_A_PAGE)
    view = outlook(today, page)
    found = [row for run in page if (row := forecast(run, view))]
    context = {"page": page, "forecasts": found, "basis": view.basis}
    return render(request, "rentals/plan/chances.html", context)
