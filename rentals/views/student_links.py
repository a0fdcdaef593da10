"""The desk's side of the student's page: a new link, no link, and the answer to what lacked."""

from __future__ import annotations

from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from rentals.actions.arrival_check import answer_arrival
from rentals.actions.once import once
from rentals.actions.student_links import renew_link, stop_link
from rentals.errors import Refused
from rentals.forms.student_desk import ArrivalAnswerForm
from rentals.models import Loan, Practice
from rentals.selectors.arrival import arrival_on_loan, lack_in_words
from rentals.selectors.paper_facts.practice import practice_facts
from rentals.selectors.student_links import link_state
from rentals.student_tokens import page_address
from rentals.web.acting import form_key_of
from rentals.web.form_page import ActPage, Affected, act_page
from rentals.web.request import DeskRequest, get_or_post


def _loan(pk: int) -> Loan:
    loans = Loan.objects.select_related("kit", "enrolment__student", "enrolment__run")
    return get_object_or_404(loans, pk=pk)


@get_or_post
def new_link(request: DeskRequest, pk: int) -> HttpResponse:
    """A new link; it is shown this once, so that it can be handed over by phone. It is kept
    nowhere, so the answer to the form is the page itself.
    """
    loan = _loan(pk)
    practice = Practice.current()
    context = {
        "loan": loan,
        "state": link_state(loan, practice, timezone.localdate()),
        "home": loan.get_absolute_url(),
    }
    if request.method == "POST":
        made: list[str] = []

        def renew() -> str:
            made.append(renew_link(loan, actor=request.user))
            return loan.get_absolute_url()

        try:
            after = once(form_key_of(request, "new link"), "new link", renew, by=request.user)
        except Refused as refusal:
            context["refusal"] = refusal.sentence
        else:
            if not made:  # Sent twice: the first answer has shown it.
                return HttpResponseRedirect(after)
            context["address"] = page_address(practice_facts(practice).site_url, made[0])
    return render(request, "rentals/loan/new_link.html", context)


@get_or_post
def stop(request: DeskRequest, pk: int) -> HttpResponse:
    """The link opens nothing any more."""
    loan = _loan(pk)
    page = ActPage(
        f"Stop the link of {loan.enrolment.student.name}",
        submit="Stop the link",
        effects=(
            "Who opens it is told that it has ended; mails that wait lose its line.",
            "What the student said already stays.",
        ),
        undo="A new link can be made at any time while the loan lasts; it is another one.",
    )
    return act_page(
        request,
        page,
        lambda _: stop_link(loan, actor=request.user),
        home=loan.get_absolute_url(),
    )


@get_or_post
def arrival_answer(request: DeskRequest, pk: int) -> HttpResponse:
    """What was done about what lacked on arrival."""
    loan = _loan(pk)
    on_arrival = arrival_on_loan(loan)
    lines = on_arrival.lines if on_arrival else []
    name = loan.enrolment.student.name
    page = ActPage(
        f"What lacked when {name}'s parcel arrived",
        submit="Note it as seen to",
        effects=(
            "What was missing on arrival is never asked of the student.",
            "The student reads your answer on the page of the kit.",
        ),
        affected=(Affected("Said by the student", tuple(lack_in_words(line) for line in lines)),),
        form_class=ArrivalAnswerForm,
    )
    return act_page(
        request,
        page,
        lambda data: answer_arrival(loan, data["answer"], actor=request.user),
        home=loan.get_absolute_url(),
        initial={"answer": on_arrival.check.answer if on_arrival else ""},
    )
