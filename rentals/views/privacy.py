"""Personal data: what is kept and how long, one student's data as a file, erasing a student."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_safe

from rentals.actions.erase import erase
from rentals.actions.setup import save_practice
from rentals.forms.privacy import RetentionForm
from rentals.models import Practice, Student
from rentals.privacy.keeping import NOBODY
from rentals.selectors.erasures import by_rest, holds_of
from rentals.selectors.privacy import due_rows, erasure_effects, what_is_kept
from rentals.selectors.student_data import student_data
from rentals.web.finding import page_of
from rentals.web.form_page import ActPage, act_page, form_page
from rentals.web.request import DeskRequest, get_or_post, posted


@get_or_post
def privacy(request: DeskRequest) -> HttpResponse:
    """What is kept of students, why, how long; who is erased next."""
    practice = Practice.current()
    form = RetentionForm(posted(request), instance=practice)
    here = reverse("rentals:privacy")
    return form_page(
        request,
        form,
        "rentals/privacy/page.html",
        act="save how long data are kept",
        do=lambda _: save_practice(form.instance),
        then=here,
        success="Saved.",
        context=lambda: _context(request),
    )


def _context(request: DeskRequest) -> dict[str, Any]:
    practice = Practice.current()
    page = page_of(request, by_rest())
    return {"kept": what_is_kept(practice), "page": page, "rows": due_rows(page, practice)}


@require_safe
def export_student(request: DeskRequest, pk: int) -> HttpResponse:
    """All that is held of one student, as a file."""
    student = get_object_or_404(Student, pk=pk)
    data = student_data(student, Practice.current().currency)
    answer = HttpResponse(data, content_type="application/zip")
    answer["Content-Disposition"] = f'attachment; filename="student-{pk}.zip"'
    return answer


@get_or_post
def erase_student(request: DeskRequest, pk: int) -> HttpResponse:
    """Says what erasing does, then does it; says what stands in the way."""
    student = get_object_or_404(Student, pk=pk)
    page = ActPage(
        f"Erase {student.name}",
        submit="Erase",
        effects=erasure_effects(student),
        danger=True,
    )
    return act_page(
        request,
        page,
        lambda _: erase(student, actor=request.user),
        home=reverse("rentals:student", args=[pk]),
        success=f"{NOBODY} is all that is left.",
        template="rentals/privacy/erase.html",
        context={"holds": holds_of([student])[pk]},
    )
