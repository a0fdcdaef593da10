"""What was in a parcel and not on its list: to the kit it belongs to, or aside."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404

from rentals.actions.found import keep_aside, move_found
from rentals.codes import grouped
from rentals.forms.receive import PutAsideForm
from rentals.models import FoundPart
from rentals.selectors.found import aside_effects, finds, move_effects, name_of
from rentals.web.form_page import ActPage, act_page
from rentals.web.request import DeskRequest, get_or_post


def _found(pk: int) -> FoundPart:
    return get_object_or_404(finds(), pk=pk)


@get_or_post
def move(request: DeskRequest, pk: int) -> HttpResponse:
    """A found part goes into the kit it belongs to."""
    thing = _found(pk)
    page = ActPage(
        f"{name_of(thing)} to its kit",
        submit="Move it to its kit",
        effects=move_effects(thing),
        undo="It can be taken out again on the page of that kit.",
    )
    return act_page(
        request,
        page,
        lambda _: move_found(thing, actor=request.user),
        home=thing.check_of.loan.get_absolute_url(),
        success=lambda done: f"{name_of(done)} is in its kit again.",
    )


@get_or_post
def aside(request: DeskRequest, pk: int) -> HttpResponse:
    """A found thing is put aside, and where it lies is written down."""
    thing = _found(pk)
    where = grouped(thing.check_of.loan.kit.code)
    page = ActPage(
        f"Keep aside: {name_of(thing)}",
        submit="Keep it aside",
        effects=(f"It was in the parcel of kit {where}.", *aside_effects(thing)),
        undo="It can go into its kit later." if thing.part else "",
        form_class=PutAsideForm,
    )
    return act_page(
        request,
        page,
        lambda data: keep_aside(thing, data["lies"], actor=request.user),
        home=thing.check_of.loan.get_absolute_url(),
        success=lambda done: f"{name_of(done)}: {done.get_state_display()}, {done.lies}.",
        initial={"lies": thing.lies},
    )
