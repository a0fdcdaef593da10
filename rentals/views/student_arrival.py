"""The student's arrival check, line by line."""

from __future__ import annotations

from collections.abc import Sequence

from django.http import HttpResponse
from django.utils import timezone

from rentals.actions.arrival_check import send_arrival_check
from rentals.catalogues import spoken_locale
from rentals.forms.student import ArrivalNoteForm, ArrivedLineForm
from rentals.models import ArrivalCheck, Loan
from rentals.page_texts import ARRIVAL_KEY
from rentals.selectors.arrival import arrival_check_of, arrival_standing, said_lines
from rentals.selectors.student_texts import student_words
from rentals.web.request import posted
from rentals.web.student import (
    StudentRequest,
    go_to_student_page,
    student_form,
    student_render,
    taken,
)


@student_form
def arrival(request: StudentRequest, loan: Loan) -> HttpResponse:
    """What has arrived: a form while it is taken, else what was sent."""
    check = arrival_check_of(loan)
    standing = arrival_standing(loan, request.practice)
    is_open = standing.is_open(timezone.localdate())
    lines = _line_forms(request, loan, check)
    note = ArrivalNoteForm(posted(request), initial={"note": check.note if check else ""})
    if request.method == "POST" and is_open and _sent(request, loan, lines, note):
        return go_to_student_page(request, "rentals:my_kit_arrival")
    wrong = [form for form in lines if form.is_bound and form.errors]
    context = {
        "check": check,
        "standing": standing,
        "open": is_open,
        "lines": lines,
        "note": note,
        "wrong": wrong,
        "words": student_words(ARRIVAL_KEY, spoken_locale())[ARRIVAL_KEY],
    }
    status = 422 if request.method == "POST" else 200
    return student_render(request, "student/arrival.html", context, status=status)


def _line_forms(
    request: StudentRequest, loan: Loan, check: ArrivalCheck | None
) -> list[ArrivedLineForm]:
    before = said_lines(check)
    all_here = "all_here" in request.POST
    return [
        ArrivedLineForm(posted(request), line=line, before=before.get(line.pk), all_here=all_here)
        for line in loan.packing_lines.order_by("order", "pk")
    ]


def _sent(
    request: StudentRequest, loan: Loan, lines: Sequence[ArrivedLineForm], note: ArrivalNoteForm
) -> bool:
    """Whether all of it could be kept; each line that could not says why."""
    usable = [form.is_valid() for form in (*lines, note)]
    if not all(usable):
        return False
    arrived = {form.line.pk: form.arrived() for form in lines}
    return taken(
        request,
        "student arrival check",
        lambda: send_arrival_check(loan, arrived, note=note.cleaned_data["note"]),
        note,
    )
