"""Help by symptom on the student's page: choose a symptom, answer one step after the other, and end
solved or in a report. Everything is a plain form.
"""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from rentals.actions.guide import answer_step, begin_help, report_fault, take_up_again
from rentals.actions.once import patiently
from rentals.errors import Refused
from rentals.models import GuideVisit, Loan
from rentals.selectors.guide import helps, past_visits, symptom_rows, visit_page, visits
from rentals.web.student import (
    StudentRequest,
    go_to_student_page,
    student_form,
    student_render,
)

VISIT = "rentals:my_help_visit"


@student_form
def symptoms(request: StudentRequest, loan: Loan) -> HttpResponse:
    """Every symptom; choosing one begins its help, or goes on where it was left."""
    if request.method == "POST":
        symptom = request.POST.get("symptom", "")
        return _done(request, loan, lambda: begin_help(loan, symptom))
    return _symptoms(request, loan)


def _symptoms(
    request: StudentRequest, loan: Loan, refusal: str = "", status: int = 200
) -> HttpResponse:
    context = {
        "rows": symptom_rows(loan) if helps(loan) else [],
        "past": past_visits(loan),
        "refusal": refusal,
    }
    return student_render(request, "student/guide/symptoms.html", context, status=status)


@student_form
def visit(request: StudentRequest, loan: Loan, pk: int) -> HttpResponse:
    """The step to do now, or how it ended; ``step`` in the address goes back to an answered one."""
    found = _visit(loan, pk)
    if request.method == "POST":
        step, answer = request.POST.get("step", ""), request.POST.get("answer", "")
        return _done(request, loan, lambda: answer_step(found, step, answer), of=found)
    return _shown(request, found)


@student_form
def again(request: StudentRequest, loan: Loan, pk: int) -> HttpResponse:
    """It was not solved after all."""
    found = _visit(loan, pk)
    if request.method != "POST":
        return go_to_student_page(request, VISIT, pk=pk)
    return _done(request, loan, lambda: take_up_again(found), of=found)


@student_form
def report(request: StudentRequest, loan: Loan, pk: int) -> HttpResponse:
    """Everything that was tried, and a box for more, before it is sent to the instructor."""
    found = _visit(loan, pk)
    if request.method == "POST":
        note = request.POST.get("note", "")
        return _done(request, loan, lambda: report_fault(found, note).visit, of=found)
    return _shown(request, found, "student/guide/report.html")


def _visit(loan: Loan, pk: int) -> GuideVisit:
    return get_object_or_404(visits(), pk=pk, loan=loan)


def _done(
    request: StudentRequest,
    loan: Loan,
    act: Callable[[], GuideVisit],
    of: GuideVisit | None = None,
) -> HttpResponse:
    """Carry out an act and go on to the page of the visit; a refusal stands on the page it came
    from.
    """
    try:
        moved = patiently(act)
    except Refused as refusal:
        if of is None:
            return _symptoms(request, loan, refusal.sentence, 422)
        return _shown(request, _visit(loan, of.pk), refusal=refusal.sentence)
    return go_to_student_page(request, VISIT, pk=moved.pk)


def _shown(
    request: StudentRequest,
    found: GuideVisit,
    template: str = "student/guide/visit.html",
    refusal: str = "",
) -> HttpResponse:
    page = visit_page(found, request.GET.get("step", ""))
    context = {
        **vars(page),
        "refusal": refusal,
        # The bench is another app and is known by the names of its pages only.
        "captures_url": reverse("student_bench:captures", args=[request.token, found.pk]),
    }
    return student_render(request, template, context, status=422 if refusal else 200)
