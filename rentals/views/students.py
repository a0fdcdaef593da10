"""Students: the list, one student's page, enrolling by hand, withdrawing."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from rentals.actions.runs import enrol_new, save_student, withdraw
from rentals.forms.students import StudentForm
from rentals.models import CourseRun, Enrolment, Student
from rentals.next_acts import withdrawal_effect
from rentals.selectors.runs import enrolments_of_student, holding
from rentals.selectors.students import student_page, student_row, students_listed
from rentals.states import LoanStage
from rentals.web.filters import list_filter
from rentals.web.finding import page_of
from rentals.web.form_page import ActPage, act_page, form_page
from rentals.web.request import DeskRequest, get_or_post, posted


@require_safe
def student_list(request: DeskRequest) -> HttpResponse:
    """Everybody who has rented a kit or is to, by name."""
    wanted = list_filter(request)
    page = page_of(request, students_listed(wanted.words))
    context = {
        "page": page,
        "rows": [student_row(student) for student in page],
        "total": Student.objects.count(),
        **wanted.context(),
    }
    return render(request, "rentals/student/list.html", context)


@get_or_post
def student(request: DeskRequest, pk: int) -> HttpResponse:
    """A student: every kit they had, mails, shortfalls, and the address."""
    student = get_object_or_404(Student, pk=pk)
    # A refused form has written its words on the student already; the heading keeps the name.
    name = student.name
    form = StudentForm(posted(request), instance=student)
    return form_page(
        request,
        form,
        "rentals/student/detail.html",
        act="change a student",
        do=lambda _: save_student(form.instance),
        then=reverse("rentals:student", args=[pk]),
        success=lambda saved: f"{saved.name} saved.",
        context=lambda: {"student": student, "name": name, **_kits_of(request, student)},
    )


def _kits_of(request: DeskRequest, student: Student) -> dict[str, Any]:
    page = page_of(request, enrolments_of_student(student))
    today = timezone.localdate()
    rows = [holding(enrolment, today) for enrolment in page]
    return {"page": page, "rows": rows, "about": student_page(student)}


@get_or_post
def enrol(request: DeskRequest, pk: int) -> HttpResponse:
    """Put one student on a run by hand."""
    run = get_object_or_404(CourseRun, pk=pk)
    form = StudentForm(posted(request))
    return form_page(
        request,
        form,
        "rentals/student/enrol.html",
        act="enrol a student",
        do=lambda _: enrol_new(run, form.instance),
        then=run.get_absolute_url(),
        success=lambda enrolment: f"{enrolment.student.name} is on {run.name}.",
        context={"run": run},
    )


@get_or_post
def withdraw_student(request: DeskRequest, pk: int) -> HttpResponse:
    """Says what withdrawing does, then does it."""
    enrolment = get_object_or_404(Enrolment.objects.select_related("student", "run"), pk=pk)
    page = ActPage(
        f"Withdraw {enrolment.student.name} from {enrolment.run.name}",
        submit="Withdraw",
        effects=_effects(enrolment),
        undo="Enrolling the student again with the same e-mail address undoes it.",
        danger=True,
    )
    return act_page(
        request,
        page,
        lambda _: withdraw(enrolment, actor=request.user),
        home=enrolment.run.get_absolute_url(),
        success=f"{enrolment.student.name} withdrew from {enrolment.run.name}.",
    )


def _effects(enrolment: Enrolment) -> tuple[str, ...]:
    """What withdrawing does, for the confirmation."""
    name = enrolment.student.name
    effects = [f"{name} no longer counts as a student of {enrolment.run.name}."]
    loans = enrolment.loans.select_related("kit")
    kits = [withdrawal_effect(LoanStage(loan.stage), loan.kit.code) for loan in loans]
    return (*effects, *(effect for effect in kits if effect))
