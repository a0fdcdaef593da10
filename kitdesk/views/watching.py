"""How the desk is doing, in plain words. The owner's page."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from kitdesk.watching.findings import mark_of_condition, worst
from kitdesk.watching.looking import all_findings
from rentals.web.request import DeskRequest


@require_safe
def watching(request: DeskRequest) -> HttpResponse:
    """Every part of the desk, with what to do where one is not well."""
    findings = all_findings(timezone.now())
    facts = {"findings": findings, "mark": mark_of_condition(worst(findings))}
    return render(request, "kitdesk/watching.html", facts)
