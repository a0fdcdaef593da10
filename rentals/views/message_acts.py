"""What can be done to mails: approve, change, discard, send again, note as sent, write one for a
loan.
"""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from rentals.actions.approve import approve, approve_many, resend
from rentals.actions.discard import discard, discard_many
from rentals.actions.dispatch import note_sent_back
from rentals.actions.draft import draft_on_request
from rentals.actions.edit_mail import edit_mail, take_address
from rentals.actions.note_sent import note_sent
from rentals.forms.messages import LetterForm, NotSentForm, SentBackForm, WriteForm
from rentals.models import Loan, Message
from rentals.selectors.messages import messages_listed
from rentals.web.acting import carry_out

from .kit_acts import ActPage, act_page, get_or_post

MOST_AT_ONCE = 2000


def _message(pk: int) -> Message:
    return get_object_or_404(Message.objects.select_related("loan__kit"), pk=pk)


@require_POST
def approve_it(request: HttpRequest, pk: int) -> HttpResponse:
    """One draft goes."""
    mail = _message(pk)

    def do() -> str:
        approve(mail, actor=request.user)
        return mail.get_absolute_url()

    return carry_out(request, "approve a mail", do) or HttpResponseRedirect(mail.get_absolute_url())


@require_POST
def approve_listed(request: HttpRequest) -> HttpResponse:
    """The ticked drafts of the list, or all that fit its filter, go (or, asked so, are
    discarded).
    """
    home = reverse("rentals:messages")

    def do() -> str:
        chosen = _chosen(request)
        if not chosen:
            messages.warning(request, "No draft was ticked.")
            return home
        if request.POST.get("do") == "discard":
            count = discard_many(chosen, actor=request.user)
            messages.success(request, f"{count} discarded.")
            return home
        approval = approve_many(chosen, actor=request.user)
        for sentence in approval.staying[:10]:
            messages.warning(request, f"Stays a draft: {sentence}")
        if len(approval.staying) > 10:
            messages.warning(
                request, f"{len(approval.staying) - 10} more stay drafts; each says why."
            )
        return approval.batch.get_absolute_url() if approval.batch else home

    return carry_out(request, "approve mails", do) or HttpResponseRedirect(home)


def _chosen(request: HttpRequest) -> list[int]:
    """Keys of the drafts that were meant: those ticked, or all that the list's filter shows."""
    if request.POST.get("do") == "all":
        filters = {name: request.POST.get(name, "") for name in ("q", "occasion", "run")}
        drafts = messages_listed({**filters, "state": "draft"})
        return list(drafts.values_list("pk", flat=True)[:MOST_AT_ONCE])
    return [
        int(text)
        for text in request.POST.getlist("pk")[:MOST_AT_ONCE]
        if text.isdecimal() and len(text) < 12
    ]


@get_or_post
def edit_it(request: HttpRequest, pk: int) -> HttpResponse:
    """Other words, or another address, before it goes."""
    mail = _message(pk)
    start = {
        name: getattr(mail, name) for name in ("to_name", "to_address", "subject", "body_text")
    }
    form = LetterForm(request.POST or None, initial=start)
    home = mail.get_absolute_url()
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            edit_mail(mail, **form.cleaned_data, actor=request.user)
            return home

        answer = carry_out(request, "change a mail", do, form=form)
        if answer is not None:
            return answer
    context = {"form": form, "mail": mail, "home": home}
    return render(
        request,
        "rentals/message/edit.html",
        context,
        status=422 if request.method == "POST" else 200,
    )


@require_POST
def take_address_of_student(request: HttpRequest, pk: int) -> HttpResponse:
    """The mail goes to the address that the student's page holds now."""
    mail = get_object_or_404(Message.objects.select_related("loan__enrolment__student"), pk=pk)

    def do() -> str:
        take_address(mail, actor=request.user)
        return mail.get_absolute_url()

    return carry_out(request, "take an address", do) or HttpResponseRedirect(
        mail.get_absolute_url()
    )


@get_or_post
def discard_it(request: HttpRequest, pk: int) -> HttpResponse:
    """It does not go."""
    mail = _message(pk)
    page = ActPage(
        f"Discard the mail to {mail.to_name or mail.to_address}",
        "Discard",
        ("It is not sent. A new one can be written from the loan's page.",),
        danger=True,
    )
    return act_page(
        request,
        page,
        lambda data: discard(mail, actor=request.user),
        home=mail.get_absolute_url(),
    )


@get_or_post
def resend_it(request: HttpRequest, pk: int) -> HttpResponse:
    """Once more."""
    mail = _message(pk)
    effects = ["The same words go out again, under the same Message-ID."]
    if mail.state in (Message.State.UNCERTAIN, Message.State.SENT):
        effects.append(
            "If the first one arrived, many mail systems show the student only one of the two, but"
            " not all do."
        )
    page = ActPage(f"Send again to {mail.to_name or mail.to_address}", "Send again", tuple(effects))
    return act_page(
        request,
        page,
        lambda data: resend(mail, actor=request.user),
        home=mail.get_absolute_url(),
    )


@get_or_post
def note_it_sent(request: HttpRequest, pk: int) -> HttpResponse:
    """It reached the student by other means, or did arrive."""
    mail = _message(pk)
    page = ActPage(
        f"The mail to {mail.to_name or mail.to_address} has reached them",
        "Note as sent",
        ("This desk does not send it.",),
        form_class=NotSentForm,
    )

    def do(data: dict[str, Any]) -> object:
        return note_sent(mail, how=data["how"], actor=request.user)

    return act_page(request, page, do, home=mail.get_absolute_url())


def _loan(pk: int) -> Loan:
    return get_object_or_404(
        Loan.objects.select_related("kit", "enrolment__student", "enrolment__run"), pk=pk
    )


@get_or_post
def write_for_loan(request: HttpRequest, pk: int) -> HttpResponse:
    """A mail about a loan, drafted because somebody asks for it."""
    loan = _loan(pk)
    form = WriteForm(request.POST or None, initial={"occasion": request.GET.get("occasion", "")})
    page = ActPage(
        f"Write to {loan.enrolment.student.name}", "Draft the mail", form_class=WriteForm
    )
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            draft = draft_on_request(form.cleaned_data["occasion"], loan, actor=request.user)
            return draft.get_absolute_url()

        answer = carry_out(request, "write a mail", do, form=form)
        if answer is not None:
            return answer
    context = {"form": form, "page": page, "home": loan.get_absolute_url()}
    return render(
        request, "rentals/kit/act.html", context, status=422 if request.method == "POST" else 200
    )


@get_or_post
def sent_back(request: HttpRequest, pk: int) -> HttpResponse:
    """The student has posted the kit: reminders keep quiet."""
    loan = _loan(pk)
    page = ActPage(
        f"Kit {loan.kit.code} is on its way back",
        "Note it",
        ("No reminder is written any more; those that wait are discarded.",),
        form_class=SentBackForm,
    )

    def do(data: dict[str, Any]) -> object:
        return note_sent_back(
            loan, data["on"], tracking_number=data["tracking_number"], actor=request.user
        )

    return act_page(
        request, page, do, home=loan.get_absolute_url(), initial={"on": timezone.localdate()}
    )
