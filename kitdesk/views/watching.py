"""How the desk is doing, in plain words, and a check of its log at once. The owner's page."""

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from kitdesk.watching.findings import mark_of_condition, worst
from kitdesk.watching.looking import all_findings
from rentals.actions.errands import ErrandAsked, ask_errand
from rentals.models import ErrandKind
from rentals.selectors.errands import errands_about
from rentals.web.acting import post_or_go_to, press_button
from rentals.web.request import DeskRequest


@require_safe
def watching(request: DeskRequest) -> HttpResponse:
    """Every part of the desk, with what to do where one is not well."""
    findings = all_findings(timezone.now())
    facts = {
        "findings": findings,
        "mark": mark_of_condition(worst(findings)),
        "errands": errands_about(request.path, request.user),
    }
    return render(request, "kitdesk/watching.html", facts)


@post_or_go_to("watching")
def verify_now(request: DeskRequest) -> HttpResponse:
    """Have the log checked in the background."""
    home = reverse("watching")
    check = ErrandAsked(ErrandKind.VERIFY, "Check of the log", about=home, seen_by=home)
    return press_button(
        request,
        "check the log",
        lambda: ask_errand(check, actor=request.user),
        home=home,
        then=lambda errand: errand.get_absolute_url(),
    )
