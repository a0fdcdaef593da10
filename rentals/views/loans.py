"""One loan: dates, packing list, return, money, and what can be done with it."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from rentals.actions.arrival import correct_arrival
from rentals.actions.balance import Paid, note_balance_paid
from rentals.actions.dispatch import correct_tracking, extend
from rentals.actions.issue import unassign
from rentals.actions.receive import write_off
from rentals.actions.settle import settle
from rentals.codes import grouped
from rentals.dates import short_date
from rentals.forms.kits import ReasonForm
from rentals.forms.pack import TrackingForm
from rentals.forms.receive import ArrivalDayForm, BalancePaidForm, ExtendForm
from rentals.models import Loan, Practice
from rentals.selectors.arrival import arrival_on_loan
from rentals.selectors.ledger import loan_sums
from rentals.selectors.loan_page import loan_page, photographed_shortfalls
from rentals.selectors.losses import balance_in_words, owed_of, sums_in_words, ticks_of
from rentals.selectors.student_links import link_state
from rentals.web.form_page import ActPage, Affected, act_page
from rentals.web.request import DeskRequest, get_or_post

from .papers import papers_of


def _loan(pk: int) -> Loan:
    loans = Loan.objects.select_related(
        "kit__kit_type", "enrolment__student", "enrolment__run", "overridden_by"
    )
    return get_object_or_404(loans, pk=pk)


@require_safe
def loan(request: DeskRequest, pk: int) -> HttpResponse:
    """Who has what since when, line by line."""
    loan = _loan(pk)
    page = loan_page(loan, timezone.localdate())
    context = {
        "loan": loan,
        "kit": loan.kit,
        "link": link_state(loan, Practice.current(), timezone.localdate()),
        "arrival": arrival_on_loan(loan),
        **vars(page),
        **papers_of(request, loan),
    }
    return render(request, "rentals/loan/detail.html", context)


@get_or_post
def settle_loan(request: DeskRequest, pk: int) -> HttpResponse:
    """Ends the loan."""
    loan = _loan(pk)
    page = ActPage(
        f"Settle the loan of {loan.enrolment.student.name}",
        submit="Settle",
        effects=("The loan is over and its lines stand.", *sums_in_words(loan)),
    )
    return act_page(
        request,
        page,
        lambda _: settle(loan, actor=request.user),
        home=loan.get_absolute_url(),
        template="rentals/loan/settle.html",
        context={"photographed": photographed_shortfalls(loan)},
    )


@get_or_post
def balance_paid(request: DeskRequest, pk: int) -> HttpResponse:
    """The day on which the rest of the deposit, or what was still to pay, was paid."""
    loan = _loan(pk)
    page = ActPage(
        f"What is left of the loan of {loan.enrolment.student.name}",
        submit="Keep the day",
        effects=(balance_in_words(loan), "The statement and a mail that waits say so too."),
        form_class=BalancePaidForm,
    )
    return act_page(
        request,
        page,
        lambda data: note_balance_paid(loan, data["on"], _paid(data), actor=request.user),
        home=loan.get_absolute_url(),
        initial={"on": loan_sums(loan).paid_on or timezone.localdate()},
    )


def _paid(data: dict[str, Any]) -> Paid | None:
    """What was typed besides the day; None where that was nothing."""
    amount, way, memo = data["amount"], data["way"], data["memo"]
    return Paid(amount, way, memo) if amount or way or memo else None


@get_or_post
def extend_loan(request: DeskRequest, pk: int) -> HttpResponse:
    """Another return date."""
    loan = _loan(pk)
    page = ActPage(
        f"Another return date for {grouped(loan.kit.code)}",
        submit="Change the date",
        effects=(f"Due back {short_date(loan.due_on)} until now.",),
        form_class=ExtendForm,
    )
    return act_page(
        request,
        page,
        lambda data: extend(loan, data["due_on"], actor=request.user),
        home=loan.get_absolute_url(),
        initial={"due_on": loan.due_on},
    )


@get_or_post
def arrival(request: DeskRequest, pk: int) -> HttpResponse:
    """Another day of arrival."""
    loan = _loan(pk)
    if loan.arrived_at is None:
        raise Http404(f"Kit {loan.kit.code} has not come back yet.")
    came_on = timezone.localtime(loan.arrived_at).date()
    page = ActPage(
        f"Another day of arrival for {grouped(loan.kit.code)}",
        submit="Change the day",
        effects=(f"Here since {short_date(came_on)} until now.",),
        form_class=ArrivalDayForm,
    )
    return act_page(
        request,
        page,
        lambda data: correct_arrival(loan, data["on"] or came_on, actor=request.user),
        home=loan.get_absolute_url(),
        initial={"on": came_on},
    )


@get_or_post
def tracking(request: DeskRequest, pk: int) -> HttpResponse:
    """The number of the parcel."""
    loan = _loan(pk)
    page = ActPage(
        f"Tracking number of {grouped(loan.kit.code)}", submit="Keep", form_class=TrackingForm
    )
    return act_page(
        request,
        page,
        lambda data: correct_tracking(loan, data["tracking_number"], actor=request.user),
        home=loan.get_absolute_url(),
        initial={"tracking_number": loan.tracking_number},
    )


@get_or_post
def unassign_loan(request: DeskRequest, pk: int) -> HttpResponse:
    """The kit is free again."""
    loan = _loan(pk)
    ticked = ticks_of(loan)
    effects = [
        "The kit is free for another student.",
        f"{loan.enrolment.student.name} has no kit for {loan.enrolment.run.name}.",
    ]
    if ticked:
        effects.append(f"Its parcel is begun: {ticked} will be forgotten.")
    page = ActPage(
        f"Take kit {grouped(loan.kit.code)} back from {loan.enrolment.student.name}",
        submit="Unassign",
        effects=tuple(effects),
        undo="Assigning the kit again undoes it; its parcel is then packed from the start.",
    )
    return act_page(
        request,
        page,
        lambda _: unassign(loan.kit, actor=request.user),
        home=loan.enrolment.run.get_absolute_url(),
    )


@get_or_post
def write_off_loan(request: DeskRequest, pk: int) -> HttpResponse:
    """The kit will not come back."""
    loan = _loan(pk)
    owed = owed_of(loan)
    effects = (
        "The kit leaves the fleet, and its parts count as lost.",
        "Reminders to the student that wait are discarded.",
    )
    heading = f"Becomes a shortfall of {loan.enrolment.student.name}: {owed.total} in all"
    page = ActPage(
        f"Write off kit {grouped(loan.kit.code)}",
        submit="Write off",
        effects=effects,
        affected=(Affected(heading, owed.lines),),
        danger=True,
        form_class=ReasonForm,
    )
    return act_page(
        request,
        page,
        lambda data: write_off(loan.kit, reason=data["reason"], actor=request.user),
        home=loan.get_absolute_url(),
    )
