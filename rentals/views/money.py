"""Money: what is owed on all loans, and what is noted in the ledger of one."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from rentals.actions.balance import Paid, give_up_balance
from rentals.actions.compensation import (
    claim_compensation,
    drop_compensation,
    receive_compensation,
)
from rentals.actions.deposit import receive_deposit
from rentals.forms.kits import ReasonForm
from rentals.forms.receive import ClaimForm, MoneyForm
from rentals.models import Loan
from rentals.planning.money import money_text
from rentals.planning.owed import BUCKETS, OWES, aged
from rentals.selectors.errands import errands_about
from rentals.selectors.loan_money import loan_money
from rentals.selectors.owed import debts, debts_listed, export_owed, owed_rows
from rentals.web.filters import FilterChoice, list_filter
from rentals.web.finding import page_of
from rentals.web.form_page import ActPage, act_page
from rentals.web.request import DeskRequest, get_or_post
from rentals.web.table_file import TableFile, format_or_404, sent_as_file

WHO = FilterChoice("who", "Who owes", [("", "all"), *((who.value, w) for who, w in OWES.items())])


@require_safe
def owed(request: DeskRequest) -> HttpResponse:
    """What is owed, to whom, and for how long."""
    wanted, today, found = list_filter(request, WHO), timezone.localdate(), debts()
    page = page_of(request, debts_listed(found, wanted.chosen("who"), wanted.words))
    context = {
        "page": page,
        "rows": owed_rows(list(page), today),
        "sums": aged(found, today),
        "buckets": [words for _, words in BUCKETS],
        "total": len(found),
        "errands": errands_about(request.path, request.user),
        **wanted.context(),
    }
    return render(request, "rentals/money/owed.html", context)


@sent_as_file
def owed_export(request: DeskRequest, form: str) -> TableFile:
    """The list as the filter shows it, as a CSV or XLSX file."""
    chosen, wanted, today = format_or_404(form), list_filter(request, WHO), timezone.localdate()
    listed = debts_listed(debts(), wanted.chosen("who"), wanted.words)
    pieces, home = export_owed(listed, today, chosen), reverse("rentals:money")
    return TableFile("owed", chosen, len(listed), pieces, home)


def _loan(pk: int) -> Loan:
    loans = Loan.objects.select_related("kit", "enrolment__student", "enrolment__run")
    return get_object_or_404(loans, pk=pk)


def _paid(data: dict[str, Any]) -> Paid:
    return Paid(data["amount"], data.get("way", ""), data["memo"], data["on"])


@get_or_post
def deposit_received(request: DeskRequest, pk: int) -> HttpResponse:
    """The deposit has come."""
    loan = _loan(pk)
    money = loan_money(loan)
    page = ActPage(
        f"Deposit of {loan.enrolment.student.name}",
        submit="Note the deposit",
        effects=(f"Open of it: {money_text(money.deposit_open, money.currency)}.",),
        form_class=MoneyForm,
    )
    return act_page(
        request,
        page,
        lambda data: receive_deposit(loan, **data, actor=request.user),
        home=loan.get_absolute_url(),
        initial={"on": timezone.localdate()},
    )


@get_or_post
def give_up(request: DeskRequest, pk: int) -> HttpResponse:
    """What the student owes is asked for no more."""
    loan = _loan(pk)
    page = ActPage(
        f"Ask {loan.enrolment.student.name} for no more",
        submit="Ask for no more",
        effects=(loan_money(loan).balance, "The practice bears it; the reason stays."),
        danger=True,
        form_class=ReasonForm,
    )
    return act_page(
        request,
        page,
        lambda data: give_up_balance(loan, reason=data["reason"], actor=request.user),
        home=loan.get_absolute_url(),
    )


@get_or_post
def claim(request: DeskRequest, pk: int) -> HttpResponse:
    """A compensation is asked of the carrier."""
    loan = _loan(pk)
    page = ActPage(
        f"Ask the carrier of kit {loan.kit.code} for compensation",
        submit="Keep what was asked",
        effects=("It stands in the ledger of the loan; the student's sums stay as they are.",),
        form_class=ClaimForm,
    )
    return act_page(
        request,
        page,
        lambda data: claim_compensation(loan, _paid(data), actor=request.user),
        home=loan.get_absolute_url(),
        initial={"on": timezone.localdate()},
    )


@get_or_post
def compensated(request: DeskRequest, pk: int) -> HttpResponse:
    """The carrier has paid."""
    loan = _loan(pk)
    money = loan_money(loan)
    page = ActPage(
        f"The carrier of kit {loan.kit.code} has paid",
        submit="Note the payment",
        effects=(f"Asked of the carrier: {money_text(money.carrier_owes, money.currency)}.",),
        form_class=MoneyForm,
    )
    return act_page(
        request,
        page,
        lambda data: receive_compensation(loan, _paid(data), actor=request.user),
        home=loan.get_absolute_url(),
        initial={"on": timezone.localdate()},
    )


@get_or_post
def not_compensated(request: DeskRequest, pk: int) -> HttpResponse:
    """The carrier does not pay."""
    loan = _loan(pk)
    money = loan_money(loan)
    page = ActPage(
        f"The carrier of kit {loan.kit.code} does not pay",
        submit="Take it back",
        effects=(f"Not asked for any more: {money_text(money.carrier_owes, money.currency)}.",),
        danger=True,
        form_class=ReasonForm,
    )
    return act_page(
        request,
        page,
        lambda data: drop_compensation(loan, reason=data["reason"], actor=request.user),
        home=loan.get_absolute_url(),
    )
