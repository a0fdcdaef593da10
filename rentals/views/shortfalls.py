"""Shortfalls: the list, and what becomes of each."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from rentals.actions.settle import charge, chase, recover, waive
from rentals.forms.kits import ReasonForm
from rentals.forms.receive import ChargeForm
from rentals.models import Practice, Shortfall
from rentals.paper.money import money_on_paper, round_money
from rentals.selectors.returns import shortfalls_listed
from rentals.web.finding import page_of

from .kit_acts import ActPage, act_page, get_or_post


@require_safe
def shortfall_list(request: HttpRequest) -> HttpResponse:
    """What lacks, from whom, since when."""
    q, state = request.GET.get("q", ""), request.GET.get("state", "")
    states = [("", "not ended"), *Shortfall.State.choices, ("all", "all")]
    context = {
        "page": page_of(request, shortfalls_listed(q, state)),
        "q": q,
        "total": Shortfall.objects.count(),
        "choices": [
            {
                "name": "state",
                "label": "State",
                "options": [
                    {"value": v, "label": words, "current": v == state} for v, words in states
                ],
            }
        ],
    }
    return render(request, "rentals/shortfall/list.html", context)


def _shortfall(pk: int) -> Shortfall:
    rows = Shortfall.objects.select_related(
        "loan__kit", "loan__enrolment__student", "loan__enrolment__run", "packing_line__part"
    )
    return get_object_or_404(rows, pk=pk)


@require_safe
def shortfall(request: HttpRequest, pk: int) -> HttpResponse:
    """One shortfall with everything that can become of it."""
    short = _shortfall(pk)
    context = {"short": short, "unsettled": short.state in Shortfall.UNSETTLED}
    return render(request, "rentals/shortfall/detail.html", context)


@get_or_post
def chase_it(request: HttpRequest, pk: int) -> HttpResponse:
    """The student was asked."""
    short = _shortfall(pk)
    name = short.loan.enrolment.student.name
    page = ActPage(f"{name} was asked for: {short.packing_line.name}", "Note as chased")
    return act_page(
        request,
        page,
        lambda data: chase(short, actor=request.user),
        home=short.loan.get_absolute_url(),
    )


@get_or_post
def recover_it(request: HttpRequest, pk: int) -> HttpResponse:
    """It came after all."""
    short = _shortfall(pk)
    page = ActPage(
        f"{short.packing_line.name} has come back",
        "Recovered",
        ("A part with a serial becomes a spare again; counted pieces go back to stock.",),
    )
    return act_page(
        request,
        page,
        lambda data: recover(short, actor=request.user),
        home=short.loan.get_absolute_url(),
    )


@get_or_post
def charge_it(request: HttpRequest, pk: int) -> HttpResponse:
    """The student pays."""
    short = _shortfall(pk)
    currency = Practice.current().currency
    page = ActPage(
        f"Charge for {short.packing_line.name}",
        "Charge",
        (
            (
                "Replacement price:"
                f" {money_on_paper(short.packing_line.replacement_price, currency)} each."
            ),
        ),
        form_class=ChargeForm,
    )
    return act_page(
        request,
        page,
        lambda data: charge(short, data["amount"], reason=data["reason"], actor=request.user),
        home=short.loan.get_absolute_url(),
        initial={"amount": round_money(short.amount, currency)},
    )


@get_or_post
def waive_it(request: HttpRequest, pk: int) -> HttpResponse:
    """Nobody pays."""
    short = _shortfall(pk)
    page = ActPage(
        f"Waive {short.packing_line.name}",
        "Waive",
        ("Nobody pays; the reason stays.",),
        form_class=ReasonForm,
    )
    return act_page(
        request,
        page,
        lambda data: waive(short, reason=data["reason"], actor=request.user),
        home=short.loan.get_absolute_url(),
    )
