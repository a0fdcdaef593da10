"""Shortfalls: the list, and what becomes of each."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from rentals.actions.line_photos import add_photos, laid_photos
from rentals.actions.settle import charge, chase, recover, waive
from rentals.counts import counted
from rentals.forms.kits import ReasonForm
from rentals.forms.receive import ChargeForm, PhotosForm
from rentals.models import Practice, Shortfall
from rentals.next_acts import may_come_back, may_turn_up
from rentals.planning.money import money_text
from rentals.planning.settlement import is_undecided
from rentals.selectors.charging import charge_proposal, is_to_charge
from rentals.selectors.next_steps import shortfall_page_button
from rentals.selectors.returns import ALL, shortfalls_listed
from rentals.states import ShortfallKind, ShortfallState
from rentals.web.acting import carry_out, post_or_go_to
from rentals.web.filters import FilterChoice, list_filter
from rentals.web.finding import page_of
from rentals.web.form_page import ActPage, act_page
from rentals.web.page_or_part import page_again
from rentals.web.request import DeskRequest, get_or_post

STATES = [("", "not ended"), *Shortfall.State.choices, (ALL, "all")]


@require_safe
def shortfall_list(request: DeskRequest) -> HttpResponse:
    """What lacks, from whom, since when."""
    wanted = list_filter(request, FilterChoice("state", "State", STATES))
    shortfalls = shortfalls_listed(wanted.words, wanted.chosen("state"))
    context = {
        "page": page_of(request, shortfalls),
        "total": Shortfall.objects.count(),
        **wanted.context(),
    }
    return render(request, "rentals/shortfall/list.html", context)


def _shortfall(pk: int) -> Shortfall:
    rows = Shortfall.objects.select_related(
        "loan__kit", "loan__enrolment__student", "loan__enrolment__run", "packing_line__part"
    )
    return get_object_or_404(rows, pk=pk)


@require_safe
def shortfall(request: DeskRequest, pk: int) -> HttpResponse:
    """One shortfall with everything that can become of it."""
    return _shortfall_page(request, _shortfall(pk), PhotosForm())


def _shortfall_page(request: DeskRequest, short: Shortfall, photos: PhotosForm) -> HttpResponse:
    to_charge = is_to_charge(short, timezone.localdate(), Practice.current())
    context = {
        "short": short,
        "photos_form": photos,
        "unsettled": is_undecided(short.state),
        "may_come_back": may_come_back(ShortfallKind(short.kind)),
        "next": shortfall_page_button(short, to_charge=to_charge),
        "to_charge": to_charge,
        "may_still_come": may_turn_up(ShortfallKind(short.kind), ShortfallState(short.state)),
        "proposal": charge_proposal(short),
    }
    return page_again(request, "rentals/shortfall/detail.html", context, refused=photos.is_bound)


@post_or_go_to("rentals:shortfall")
def add_shortfall_photos(request: DeskRequest, pk: int) -> HttpResponse:
    """Photos that were taken after the check."""
    short = _shortfall(pk)
    form = PhotosForm(request.POST, request.FILES)
    answer = carry_out(
        request,
        "add photos",
        lambda photos: add_photos(short.packing_line, photos, actor=request.user),
        first=lambda: laid_photos(form.cleaned_data["photos"]),
        then=reverse("rentals:shortfall", args=[pk]),
        success=lambda new: f"{counted(new, 'photo', 'photos')} added.",
        form=form,
    )
    return answer or _shortfall_page(request, short, form)


@get_or_post
def note_chased(request: DeskRequest, pk: int) -> HttpResponse:
    """The student was asked."""
    short = _shortfall(pk)
    name = short.loan.enrolment.student.name
    page = ActPage(f"{name} was asked for: {short.packing_line.name}", submit="Note as chased")
    return act_page(
        request,
        page,
        lambda _: chase(short, actor=request.user),
        home=short.loan.get_absolute_url(),
    )


@get_or_post
def note_recovered(request: DeskRequest, pk: int) -> HttpResponse:
    """It came after all."""
    short = _shortfall(pk)
    effects = ["A part with a serial becomes a spare again; counted pieces go back to stock."]
    if may_turn_up(ShortfallKind(short.kind), ShortfallState(short.state)):
        effects.append("What was charged or written off for it is taken back.")
    page = ActPage(
        f"{short.packing_line.name} has come back", submit="Recovered", effects=tuple(effects)
    )
    return act_page(
        request,
        page,
        lambda _: recover(short, actor=request.user),
        home=short.loan.get_absolute_url(),
    )


@get_or_post
def charge_student(request: DeskRequest, pk: int) -> HttpResponse:
    """The student pays."""
    short = _shortfall(pk)
    proposal = charge_proposal(short)
    page = ActPage(
        f"Charge for {short.packing_line.name}",
        submit="Charge",
        effects=(proposal.words, "What you type below is what is charged."),
        form_class=ChargeForm,
    )
    return act_page(
        request,
        page,
        lambda data: charge(short, data["amount"], reason=data["reason"], actor=request.user),
        home=short.loan.get_absolute_url(),
        initial={"amount": proposal.amount},
    )


@get_or_post
def waive_shortfall(request: DeskRequest, pk: int) -> HttpResponse:
    """Nobody pays."""
    short = _shortfall(pk)
    worth = money_text(short.amount, Practice.current().currency)
    name = short.loan.enrolment.student.name
    page = ActPage(
        f"Waive {short.packing_line.name}",
        submit="Waive",
        effects=(f"{name} does not pay {worth} for it; the reason stays.",),
        danger=True,
        form_class=ReasonForm,
    )
    return act_page(
        request,
        page,
        lambda data: waive(short, reason=data["reason"], actor=request.user),
        home=short.loan.get_absolute_url(),
    )
