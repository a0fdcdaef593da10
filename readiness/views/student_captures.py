"""A student sends a capture from the help by symptom, and reads what it says."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.utils.translation import gettext as _

from readiness.actions.student_captures import take_student_capture
from readiness.intake.student_files import ENDINGS, is_too_large
from readiness.selectors.student_captures import student_rows
from rentals.actions.once import patiently
from rentals.errors import Refused
from rentals.models import GuideVisit, Loan
from rentals.web.student import (
    StudentRequest,
    go_to_student_page,
    student_form,
    student_render,
)

LOOK_AGAIN_S = 4


@student_form
def captures(request: StudentRequest, loan: Loan, pk: int) -> HttpResponse:
    """The form for a file, and every file that was sent with its answer."""
    visit = get_object_or_404(GuideVisit, pk=pk, loan=loan)
    if request.method != "POST":
        return _page(request, visit)
    # By the length it states, before anything of the request is read.
    if is_too_large(_stated_length(request)):
        return _page(request, visit, _("The file is too large. Save only the ten seconds."), 413)
    file = request.FILES.get("file")
    if file is None:
        return _page(request, visit, _("Choose the file of your recording."), 422)
    try:
        patiently(lambda: take_student_capture(visit, file))
    except Refused as refusal:
        return _page(request, visit, refusal.sentence, 422)
    return go_to_student_page(request, "student_bench:captures", pk=pk)


def _stated_length(request: StudentRequest) -> int | None:
    stated = request.META.get("CONTENT_LENGTH") or ""
    return int(stated) if stated.isdecimal() else None


def _page(
    request: StudentRequest, visit: GuideVisit, error: str = "", status: int = 200
) -> HttpResponse:
    rows = student_rows(visit)
    waiting = any(not row.capture.settled for row in rows)
    context = {
        "visit": visit,
        "rows": rows,
        "waiting": waiting,
        "may_send": visit.ended_at is None and not waiting,
        "accept": ",".join(ENDINGS),
        "error": error,
    }
    answer = student_render(request, "student/guide/captures.html", context, status=status)
    if waiting and status == 200:
        # Without a script as well, the page comes back by itself to say what was found.
        answer["Refresh"] = str(LOOK_AGAIN_S)
    return answer
