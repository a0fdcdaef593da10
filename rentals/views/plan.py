"""The plan: kits against weeks."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from rentals.models import Practice
from rentals.selectors.plan_days import turnaround_of
from rentals.web.request import DeskRequest


@require_safe
def plan(request: DeskRequest) -> HttpResponse:
    """Which kit is where, and when."""
    context = {"turnaround": turnaround_of(Practice.current())}
    return render(request, "rentals/plan/calendar.html", context)
