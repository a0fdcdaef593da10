"""Students: one student's page, enrolling by hand, withdrawing."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from rentals.actions.runs import enrol_new, save_student, withdraw
from rentals.forms.students import StudentForm
from rentals.models import CourseRun, Enrolment, LoanStage, Student
from rentals.selectors.runs import enrolments_of_student, holding
from rentals.web.acting import carry_out
from rentals.web.finding import page_of


@require_http_methods(["GET", "HEAD", "POST"])
def student(request: HttpRequest, pk: int) -> HttpResponse:
    """A student: address, and every kit they had."""
    student = get_object_or_404(Student, pk=pk)
    name = student.name
    posted = request.method == "POST"
    form = StudentForm(request.POST if posted else None, instance=student)
    if posted and form.is_valid():

        def do() -> str:
            save_student(form.instance)
            messages.success(request, f"{form.instance.name} saved.")
            return reverse("rentals:student", args=[pk])

        answer = carry_out(request, "change a student", do, form=form)
        if answer is not None:
            return answer
    page = page_of(request, enrolments_of_student(student))
    today = timezone.localdate()
    context = {
        "student": student,
        "name": name,
        "form": form,
        "page": page,
        "rows": [holding(enrolment, today) for enrolment in page],
    }
    return render(request, "rentals/student/detail.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def enrol(request: HttpRequest, pk: int) -> HttpResponse:
    """Put one student on a run by hand."""
    run = get_object_or_404(CourseRun, pk=pk)
    posted = request.method == "POST"
    form = StudentForm(request.POST if posted else None)
    if posted and form.is_valid():

        def do() -> str:
            enrolment = enrol_new(run, form.instance)
            messages.success(request, f"{enrolment.student.name} is on {run.name}.")
            return run.get_absolute_url()

        answer = carry_out(request, "enrol a student", do, form=form)
        if answer is not None:
            return answer
    return render(request, "rentals/student/enrol.html", {"run": run, "form": form})


@require_http_methods(["GET", "HEAD", "POST"])
def withdraw_student(request: HttpRequest, pk: int) -> HttpResponse:
    """Says what withdrawing does, then does it."""
    enrolment = get_object_or_404(Enrolment.objects.select_related("student", "run"), pk=pk)
    back = enrolment.run.get_absolute_url()
    if request.method == "POST":

        def do() -> str:
            withdraw(enrolment, actor=request.user)
            messages.success(
                request, f"{enrolment.student.name} withdrew from {enrolment.run.name}."
            )
            return back

        return carry_out(request, "withdraw", do) or HttpResponseRedirect(back)
    context = {"enrolment": enrolment, "effects": _effects(enrolment), "back": back}
    return render(request, "rentals/student/withdraw.html", context)


def _effects(enrolment: Enrolment) -> list[str]:
    """What withdrawing does, for the confirmation."""
    name = enrolment.student.name
    effects = [f"{name} no longer counts as a student of {enrolment.run.name}."]
    for loan in enrolment.loans.select_related("kit"):
        if loan.stage == LoanStage.ASSIGNED:
            effects.append(f"Kit {loan.kit.code} is free again.")
        elif loan.stage in (LoanStage.AWAY, LoanStage.CHECK):
            effects.append(f"Kit {loan.kit.code} stays on loan until it is back and checked.")
    return effects
