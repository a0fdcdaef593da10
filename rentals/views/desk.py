"""Today's work, and the scan box that every page carries."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from rentals.models import KitType
from rentals.selectors.kept_answers import KeptAnswers
from rentals.selectors.run_strips import strips_under_way
from rentals.selectors.scan import LONGEST_SCAN, Understood, understand
from rentals.selectors.today import work_today
from rentals.selectors.work_lines import work_open_to
from rentals.web.finding import page_of
from rentals.web.request import DeskRequest

MATCHES_A_PAGE = 20


@require_safe
def today(request: DeskRequest) -> HttpResponse:
    """What is to be done, and nothing else."""
    # Whoever may not even note something on a kit only reads.
    to_read = not request.may(reverse("rentals:kit_note", args=["kit"]))
    today, answers = timezone.localdate(), KeptAnswers()
    groups = work_open_to(request.may, work_today(today, answers), to_read=to_read)
    may_see_runs = request.may(reverse("rentals:runs"))
    context = {
        "groups": groups,
        "first": groups[0] if groups else None,
        "fresh": not groups and not KitType.objects.exists(),
        "runs": strips_under_way(today, answers) if may_see_runs else [],
        "day": today,
    }
    return render(request, "rentals/desk/today.html", context)


@require_safe
def scan(request: DeskRequest) -> HttpResponse:
    """Goes to the one thing that was scanned, or shows what the text may mean."""
    return _answer(request, request.GET.get("q", ""))


@require_safe
def scan_code(request: DeskRequest, code: str) -> HttpResponse:
    """A label was opened by a phone's camera."""
    return _answer(request, code)


def _answer(request: DeskRequest, text: str) -> HttpResponse:
    understood: Understood = understand(text, request.may)
    if len(understood.matches) == 1:
        messages.info(request, understood.sentence)
        return HttpResponseRedirect(understood.matches[0].url)
    context = {
        "understood": understood,
        "scanned": text[:LONGEST_SCAN],
        "page": page_of(request, understood.matches, MATCHES_A_PAGE),
    }
    status = 200 if understood.matches else 404
    return render(request, "rentals/desk/scan.html", context, status=status)
