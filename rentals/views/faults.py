"""Faults that students have reported: the list, each report, and what becomes of it."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from rentals.actions.faults import answer_fault, close_fault, hold_on_return
from rentals.codes import grouped
from rentals.forms.faults import FaultAnswerForm
from rentals.models import FaultReport
from rentals.selectors.faults import ALL, fault_reports, faults_listed
from rentals.selectors.guide_counts import solved_table
from rentals.selectors.next_steps import fault_page_button
from rentals.web.acting import post_or_go_to, press_button
from rentals.web.filters import FilterChoice, list_filter
from rentals.web.finding import page_of
from rentals.web.form_page import ActPage, act_page
from rentals.web.request import DeskRequest, get_or_post

STATES = [("", "not closed"), *FaultReport.State.choices, (ALL, "all")]


@require_safe
def fault_list(request: DeskRequest) -> HttpResponse:
    """What students reported and is not closed."""
    wanted = list_filter(request, FilterChoice("state", "State", STATES))
    reports = faults_listed(wanted.words, wanted.chosen("state"))
    context = {
        "page": page_of(request, reports),
        "total": FaultReport.objects.count(),
        **wanted.context(),
    }
    return render(request, "rentals/fault/list.html", context)


@require_safe
def solved(request: DeskRequest) -> HttpResponse:
    """What the help by symptom solved, and what not."""
    return render(request, "rentals/fault/solved.html", {"rows": solved_table()})


def _fault(pk: int) -> FaultReport:
    return get_object_or_404(fault_reports(), pk=pk)


@require_safe
def fault(request: DeskRequest, pk: int) -> HttpResponse:
    """One report with everything that was tried, and what can be done about it."""
    report = _fault(pk)
    context = {
        "report": report,
        "loan": report.loan,
        "next": fault_page_button(report),
        "captures_url": reverse("readiness:report_captures", args=[report.pk]),
    }
    return render(request, "rentals/fault/detail.html", context)


@get_or_post
def answer(request: DeskRequest, pk: int) -> HttpResponse:
    """What the student should do, or what is on its way."""
    report = _fault(pk)
    page = ActPage(
        f"Answer {report.loan.enrolment.student.name}",
        submit="Answer",
        effects=("The student reads it on their page. No mail leaves.",),
        undo="It can be written anew until the report is closed.",
        form_class=FaultAnswerForm,
    )
    return act_page(
        request,
        page,
        lambda data: answer_fault(report, data["answer"], actor=request.user),
        home=report.get_absolute_url(),
        initial={"answer": report.answer},
    )


@get_or_post
def close(request: DeskRequest, pk: int) -> HttpResponse:
    """The fault is dealt with."""
    report = _fault(pk)
    page = ActPage(
        f"Close the report: {report.symptom}",
        submit="Close",
        effects=(
            "What was done stands for good, and the student reads it on their page.",
            "It is on no list of work any more.",
        ),
        form_class=FaultAnswerForm,
    )
    return act_page(
        request,
        page,
        lambda data: close_fault(report, data["answer"], actor=request.user),
        home=report.get_absolute_url(),
        initial={"answer": report.answer},
    )


@post_or_go_to("rentals:fault")
def hold(request: DeskRequest, pk: int) -> HttpResponse:
    """Hold the kit once it is back, or not after all."""
    report = _fault(pk)
    wanted = not report.hold_on_return
    code = grouped(report.loan.kit.code)
    will = "is held once its return is checked" if wanted else "is not held when it is back"
    return press_button(
        request,
        "hold on return",
        lambda: hold_on_return(report, wanted, actor=request.user),
        home=report.get_absolute_url(),
        success=f"Kit {code} {will}.",
    )
