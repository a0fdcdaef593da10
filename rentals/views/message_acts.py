"""What can be done to mails: approve, change, discard, send again, note as sent, write one for a
loan.
"""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_POST

from rentals.actions.approve import approve, resend
from rentals.actions.discard import discard
from rentals.actions.dispatch import note_sent_back
from rentals.actions.draft import draft_on_request
from rentals.actions.edit_mail import edit_mail, take_address
from rentals.actions.note_sent import note_sent
from rentals.forms.messages import LetterForm, NotSentForm, SentBackForm, WriteForm
from rentals.models import Loan, Message
from rentals.next_acts import may_have_arrived
from rentals.states import MessageState
from rentals.web.acting import press_button
from rentals.web.form_page import ActPage, Affected, act_page, form_page
from rentals.web.request import DeskRequest, get_or_post, posted


def _message(pk: int) -> Message:
    return get_object_or_404(Message.objects.select_related("loan__enrolment__student"), pk=pk)


@require_POST
def approve_mail(request: DeskRequest, pk: int) -> HttpResponse:
    """One draft goes."""
    mail = _message(pk)
    return press_button(
        request,
        "approve a mail",
        lambda: approve(mail, actor=request.user),
        home=mail.get_absolute_url(),
    )


@get_or_post
def edit_letter(request: DeskRequest, pk: int) -> HttpResponse:
    """Other words, or another address, before it goes."""
    mail = _message(pk)
    home = mail.get_absolute_url()
    words = {name: getattr(mail, name) for name in LetterForm.base_fields}
    return form_page(
        request,
        LetterForm(posted(request), initial=words),
        "rentals/message/edit.html",
        act="change a mail",
        do=lambda data: edit_mail(mail, **data, actor=request.user),
        then=home,
        context={"mail": mail, "home": home},
    )


@require_POST
def take_address_of_student(request: DeskRequest, pk: int) -> HttpResponse:
    """The mail goes to the address that the student's page holds now."""
    mail = _message(pk)
    return press_button(
        request,
        "take an address",
        lambda: take_address(mail, actor=request.user),
        home=mail.get_absolute_url(),
    )


@get_or_post
def discard_mail(request: DeskRequest, pk: int) -> HttpResponse:
    """It does not go."""
    mail = _message(pk)
    page = ActPage(
        f"Discard the mail to {mail.to_name or mail.to_address}",
        submit="Discard",
        effects=("It is not sent.",),
        affected=(Affected("The mail", (mail.subject, f"To {mail.to_address}")),),
        undo="A new one can be written from the loan's page.",
        danger=True,
    )
    return act_page(
        request,
        page,
        lambda _: discard(mail, actor=request.user),
        home=mail.get_absolute_url(),
    )


@get_or_post
def resend_mail(request: DeskRequest, pk: int) -> HttpResponse:
    """Once more."""
    mail = _message(pk)
    effects = [
        f"“{mail.subject}” goes out again to {mail.to_address}: in the same words under the same"
        " Message-ID, or filled anew where a day or a sum in it has changed since.",
    ]
    if may_have_arrived(MessageState(mail.state)):
        effects.append(
            "If the first one arrived, many mail systems show the student only one of the two, but"
            " not all do."
        )
    addressee = mail.to_name or mail.to_address
    page = ActPage(f"Send again to {addressee}", submit="Send again", effects=tuple(effects))
    return act_page(
        request,
        page,
        lambda _: resend(mail, actor=request.user),
        home=mail.get_absolute_url(),
    )


@get_or_post
def note_mail_sent(request: DeskRequest, pk: int) -> HttpResponse:
    """It reached the student by other means, or did arrive."""
    mail = _message(pk)
    page = ActPage(
        f"The mail to {mail.to_name or mail.to_address} has reached them",
        submit="Note as sent",
        effects=("This desk does not send it.",),
        form_class=NotSentForm,
    )
    return act_page(
        request,
        page,
        lambda data: note_sent(mail, how=data["how"], actor=request.user),
        home=mail.get_absolute_url(),
    )


def _loan(pk: int) -> Loan:
    loans = Loan.objects.select_related("kit", "enrolment__student", "enrolment__run")
    return get_object_or_404(loans, pk=pk)


@get_or_post
def write_for_loan(request: DeskRequest, pk: int) -> HttpResponse:
    """A mail about a loan, drafted because somebody asks for it."""
    loan = _loan(pk)
    student = loan.enrolment.student
    page = ActPage(f"Write to {student.name}", submit="Draft the mail", form_class=WriteForm)
    return act_page(
        request,
        page,
        lambda data: draft_on_request(data["occasion"], loan, actor=request.user),
        home=loan.get_absolute_url(),
        then=Message.get_absolute_url,
        initial={"occasion": request.GET.get("occasion", "")},
    )


@get_or_post
def sent_back(request: DeskRequest, pk: int) -> HttpResponse:
    """The student has posted the kit: reminders keep quiet."""
    loan = _loan(pk)
    page = ActPage(
        f"Kit {loan.kit.code} is on its way back",
        submit="Note it",
        effects=("No reminder is written any more; those that wait are discarded.",),
        form_class=SentBackForm,
    )
    return act_page(
        request,
        page,
        lambda data: note_sent_back(
            loan, data["on"], tracking_number=data["tracking_number"], actor=request.user
        ),
        home=loan.get_absolute_url(),
        initial={"on": timezone.localdate()},
    )
