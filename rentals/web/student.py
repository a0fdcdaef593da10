"""The way into a student's page: a private link, no account.

`student_page` and `student_form` find the loan of a link and hand it to the view; everybody else
gets a page in plain words. There is no sign-in and no cookie: whoever has the address is let in, to
this one loan.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation.trans_real import parse_accept_lang_header
from django.views.decorators.csrf import csrf_exempt

from rentals.actions.once import once
from rentals.actions.student_links import note_link_used
from rentals.catalogues import worded_as
from rentals.errors import Refused
from rentals.languages import USUAL_LANGUAGE
from rentals.models import Loan, Practice, StudentLink
from rentals.selectors.student_links import has_ended, link_of_token
from rentals.speaking import speaking, student_language

from .acting import form_key_of
from .throttle import Throttle, address_of

WRONG_TOKENS = Throttle("student-link", most=40, seconds=600)
#: Forms sent through one link: far more than anybody needs, far fewer than would flood the desk.
FORMS_SENT = Throttle("student-form", most=60, seconds=600)
_SAFE = ("GET", "HEAD")
_WITH_FORM = (*_SAFE, "POST")
_HEADERS = {
    "Cache-Control": "no-store",
    "Referrer-Policy": "no-referrer",
    "X-Robots-Tag": "noindex, nofollow",
}


class StudentRequest(HttpRequest):
    """A request through a student's link, with what the link leads to."""

    token: str
    loan: Loan
    practice: Practice


StudentView = Callable[..., HttpResponse]


def student_page(view: StudentView) -> StudentView:
    """Decorate a view ``(request: StudentRequest, loan: Loan, ...)`` of the student's page that is
    only read; its address begins with ``/my-kit/<str:token>/``.
    """
    return login_not_required(_through_link(view, _SAFE))


def student_form(view: StudentView) -> StudentView:
    """The same for a view that also takes a form.

    It needs no CSRF token: the address itself is the secret, so no other site can send the form;
    and under ``no-referrer`` browsers send no origin to compare with.
    """
    return csrf_exempt(login_not_required(_through_link(view, _WITH_FORM)))


def _through_link(view: StudentView, methods: tuple[str, ...]) -> StudentView:
    @functools.wraps(view)
    def through_link(request: StudentRequest, token: str, **place: Any) -> HttpResponse:
        if request.method in methods:
            answer = _answer(view, request, token, place)
        else:
            answer = HttpResponse(status=405, headers={"Allow": ", ".join(methods)})
        for name, value in _HEADERS.items():
            answer[name] = value
        return answer

    return through_link


def _answer(
    view: StudentView, request: StudentRequest, token: str, place: dict[str, Any]
) -> HttpResponse:
    source = address_of(request)
    if WRONG_TOKENS.is_over(source):
        return _refused(request, "too_many", 429)
    link = link_of_token(token)
    if link is None:
        WRONG_TOKENS.count(source)
        return _refused(request, "unknown", 404)
    request.token, request.loan, request.practice = token, link.loan, Practice.current()
    if link.revoked_at or has_ended(link.loan, request.practice, timezone.localdate()):
        return _refused(request, "ended", 410)
    if request.method == "POST":
        if FORMS_SENT.is_over(str(link.pk)):
            return _refused(request, "too_many", 429)
        FORMS_SENT.count(str(link.pk))
    return _opened(view, request, link, place)


def _opened(
    view: StudentView, request: StudentRequest, link: StudentLink, place: dict[str, Any]
) -> HttpResponse:
    note_link_used(link)
    language = student_language(link.loan.enrolment.student, request.practice)
    with speaking(language):
        return view(request, link.loan, **place)


def _refused(request: HttpRequest, why: str, status: int) -> HttpResponse:
    """Nothing of any loan is on such a page: of the practice only how to reach it."""
    context = {"practice": Practice.current()}
    with speaking(_browsers_language(request)):
        return render(request, f"student/refused/{why}.html", context, status=status)


def _browsers_language(request: HttpRequest) -> str:
    """The first language that the browser asks for and that we can speak; else English."""
    asked = parse_accept_lang_header(request.headers.get("Accept-Language", ""))
    return next((code for code, _ in asked if worded_as(code)), USUAL_LANGUAGE)


def student_render(
    request: StudentRequest, template: str, context: dict[str, Any], *, status: int = 200
) -> HttpResponse:
    """A page of the student's, with what its frame needs: ``token``, ``loan``, ``practice``."""
    frame = {"token": request.token, "loan": request.loan, "practice": request.practice}
    return render(request, template, frame | context, status=status)


def taken(
    request: StudentRequest, act: str, do: Callable[[], Any], form: forms.BaseForm | None = None
) -> bool:
    """Carry out what a form asks for, once however often it arrives. False where the action refuses
    it: its sentence then stands in the form.
    """

    def carried_out() -> str:
        do()
        return ""

    try:
        once(form_key_of(request, act), act, carried_out)
    except Refused as refusal:
        if form is None:
            raise
        form.add_error(refusal.field if refusal.field in form.fields else None, refusal.sentence)
        return False
    return True


def student_url(request: StudentRequest, route: str, **place: Any) -> str:
    """The address of another page behind the same link."""
    return reverse(route, kwargs={"token": request.token, **place})


def go_to_student_page(request: StudentRequest, route: str, **place: Any) -> HttpResponse:
    """On to another page behind the same link, after a form was taken."""
    return HttpResponseRedirect(student_url(request, route, **place))
