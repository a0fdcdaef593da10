"""The student's page of a loan: what is in the kit, and what to do with it."""

from __future__ import annotations

from django.http import HttpResponse

from rentals.models import Loan
from rentals.web.student import StudentRequest, student_page, student_render


@student_page
def kit(request: StudentRequest, loan: Loan) -> HttpResponse:
    """The first page: the kit and its dates."""
    return student_render(request, "student/kit.html", {})
