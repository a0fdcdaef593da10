"""The student's page of a loan: what is in the kit, how to use it, what has arrived, how to send it
back.
"""

from __future__ import annotations

from django.http import HttpResponse
from django.utils import timezone

from rentals.actions.dispatch import note_sent_back
from rentals.actions.student_language import choose_student_language
from rentals.catalogues import spoken_locale, worded_as
from rentals.codes import qr_text
from rentals.forms.student import PostedForm
from rentals.models import Loan
from rentals.next_acts.student import may_post
from rentals.page_texts import RETURN_KEY, USE_HEADINGS, USE_KEYS
from rentals.planning.starter import in_students_words
from rentals.selectors.paper_facts.practice import practice_facts
from rentals.selectors.student_page import (
    first_name,
    return_address,
    return_lines,
    student_kit,
    student_standing,
)
from rentals.selectors.student_texts import student_words
from rentals.speaking import languages_to_choose, student_language
from rentals.web.request import posted
from rentals.web.student import (
    StudentRequest,
    go_to_student_page,
    student_form,
    student_page,
    student_render,
    taken,
)


@student_page
def kit(request: StudentRequest, loan: Loan) -> HttpResponse:
    """The first page: what is next, the days, the layout of the box."""
    context = {
        "page": student_kit(loan, request.practice, timezone.localdate()),
        "languages": languages_to_choose(),
        "spoken": worded_as(student_language(loan.enrolment.student, request.practice)),
    }
    return student_render(request, "student/kit.html", context)


@student_page
def use(request: StudentRequest, loan: Loan) -> HttpResponse:
    """How to set the kit up and look after it."""
    words = student_words("page.", spoken_locale())
    texts = [(key, USE_HEADINGS[key], words[key]) for key in USE_KEYS]
    context = {
        "texts": texts,
        "own_notes": in_students_words(loan.kit.kit_type.instructions.strip()),
    }
    return student_render(request, "student/use.html", context)


@student_form
def send_back(request: StudentRequest, loan: Loan) -> HttpResponse:
    """How to send the kit back, and a form that says that it is posted."""
    today = timezone.localdate()
    form = PostedForm(posted(request), initial={"on": today})
    if form.is_valid() and taken(
        request,
        "student posted the kit",
        lambda: note_sent_back(
            loan,
            form.cleaned_data["on"],
            tracking_number=form.cleaned_data["tracking_number"],
            through_page=True,
        ),
        form,
    ):
        return go_to_student_page(request, "rentals:my_kit_return")
    context = {
        "form": form,
        "may_post": may_post(student_standing(loan, request.practice, today)),
        "words": student_words(RETURN_KEY, spoken_locale())[RETURN_KEY],
        "address": return_address(loan, request.practice),
    }
    status = 422 if form.is_bound else 200
    return student_render(request, "student/return.html", context, status=status)


@student_page
def sheet(request: StudentRequest, loan: Loan) -> HttpResponse:
    """The return sheet, to be printed and laid into the box."""
    context = {
        "lines": return_lines(loan),
        "address": return_address(loan, request.practice),
        "first_name": first_name(loan.enrolment.student.name),
        "qr": qr_text(practice_facts(request.practice).site_url, loan.kit.code),
    }
    return student_render(request, "student/sheet.html", context)


@student_form
def language(request: StudentRequest, loan: Loan) -> HttpResponse:
    """Another language for the page and the mails."""
    if request.method == "POST":
        chosen = request.POST.get("language", "")
        if chosen in dict(languages_to_choose()):
            taken(request, "student chose language", lambda: choose_student_language(loan, chosen))
    return go_to_student_page(request, "rentals:my_kit")
