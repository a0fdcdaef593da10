"""What can be done to a kit, each on a small page of its own that works on the phone."""

from __future__ import annotations

from functools import partial

from django.http import HttpResponse
from django.urls import reverse
from django.utils.http import urlencode

from rentals.actions import issue
from rentals.actions.register import fit_part, register_and_fit, remove_part, swap_part
from rentals.codes import grouped
from rentals.forms.kits import (
    FitForm,
    NoteForm,
    ReasonForm,
    RegisterHereForm,
    RemoveForm,
    SwapForm,
)
from rentals.models import Kit
from rentals.selectors.contents import free_by_kind
from rentals.selectors.kits import spares_for
from rentals.selectors.losses import parts_of
from rentals.selectors.part_scan import unknown_serial
from rentals.web.acting import next_address
from rentals.web.finding import kit_or_404, part_or_404
from rentals.web.form_page import ActPage, Affected, act_page
from rentals.web.page_or_part import go_to
from rentals.web.request import DeskRequest, get_or_post

TEST_AGAIN = "The kit must be tested again before it goes out."


@get_or_post
def fit(request: DeskRequest, code: str) -> HttpResponse:
    """Put a spare in."""
    kit = kit_or_404(code)
    serial = unknown_serial(request.POST.get("part", ""))
    if serial and any(free_by_kind(kit).values()):
        return go_to(request, _register_address(request, kit, serial))
    spares = list(spares_for(kit))
    page = ActPage(
        f"Fit a part into {grouped(kit.code)}",
        submit="Fit",
        effects=(TEST_AGAIN,),
        form_class=partial(FitForm, spares=spares),
    )
    return act_page(
        request,
        page,
        lambda data: fit_part(kit, data["part"], actor=request.user),
        home=kit.get_absolute_url(),
        template="rentals/kit/fit.html",
        context={"spares": spares},
    )


def _register_address(request: DeskRequest, kit: Kit, serial: str) -> str:
    query = {"serial": serial, "kind": request.GET.get("kind", "")}
    query["next"] = next_address(request, kit.get_absolute_url())
    return f"{reverse('rentals:kit_register', args=[kit.code])}?{urlencode(query)}"


@get_or_post
def register_here(request: DeskRequest, code: str) -> HttpResponse:
    """A part that was scanned and is not on file: registered and fitted with one press."""
    kit = kit_or_404(code)
    # Sent once more, its place is filled already: the action says so, and not the choice of kinds.
    free = free_by_kind(kit)
    lines = [line for line in kit.kit_type.lines.all() if line.by_serial]
    offered = [line for line in lines if free[line.part_kind] or request.method == "POST"]
    kinds = {line.part_kind: line.name for line in offered}
    serial = request.GET.get("serial", "")[:60]
    page = ActPage(
        f"Register a part and fit it into {grouped(kit.code)}",
        submit="Register and fit here",
        effects=(f"Serial number {serial} is not on file yet.", TEST_AGAIN)[not serial :],
        form_class=partial(RegisterHereForm, kinds=kinds),
    )
    return act_page(
        request,
        page,
        lambda data: register_and_fit(kit, **data, actor=request.user),
        home=kit.get_absolute_url(),
        success=lambda part: f"{part.get_kind_display()} {part.serial} is {grouped(part.code)}.",
        initial={"serial": serial, "kind": request.GET.get("kind", "")},
    )


@get_or_post
def swap(request: DeskRequest, code: str, part: str) -> HttpResponse:
    """Replace a fitted part by a spare of its kind."""
    kit, old = kit_or_404(code), part_or_404(part)
    spares = list(spares_for(kit, old.kind))
    page = ActPage(
        f"Swap the {old.get_kind_display().lower()} of {grouped(kit.code)}",
        submit="Swap",
        effects=(f"{grouped(old.code)} comes out.", TEST_AGAIN),
        form_class=partial(SwapForm, spares=spares),
    )
    return act_page(
        request,
        page,
        lambda data: swap_part(
            kit,
            old,
            data["part"],
            to=data["to"],
            reason=data["reason"],
            cause=data["cause"],
            actor=request.user,
        ),
        home=kit.get_absolute_url(),
        template="rentals/kit/fit.html",
        context={"spares": spares},
    )


@get_or_post
def remove(request: DeskRequest, code: str, part: str) -> HttpResponse:
    """Take a part out."""
    kit, old = kit_or_404(code), part_or_404(part)
    page = ActPage(
        f"Take {old.get_kind_display().lower()} {grouped(old.code)} out of {grouped(kit.code)}",
        submit="Take out",
        effects=("The kit is incomplete until another is fitted.", TEST_AGAIN),
        undo="A sound spare can be fitted again.",
        form_class=RemoveForm,
    )
    return act_page(
        request,
        page,
        lambda data: remove_part(kit, old, **data, actor=request.user),
        home=kit.get_absolute_url(),
    )


@get_or_post
def hold_kit(request: DeskRequest, code: str) -> HttpResponse:
    """Take the kit out of the loop for a while."""
    kit = kit_or_404(code)
    page = ActPage(
        f"Hold kit {grouped(kit.code)}",
        submit="Hold",
        effects=("It cannot be assigned, packed or cleared until it is released.",),
        form_class=ReasonForm,
    )
    return act_page(
        request,
        page,
        lambda data: issue.hold(kit, reason=data["reason"], actor=request.user),
        home=kit.get_absolute_url(),
    )


@get_or_post
def release_kit(request: DeskRequest, code: str) -> HttpResponse:
    """End the hold."""
    kit = kit_or_404(code)
    page = ActPage(
        f"Release kit {grouped(kit.code)}",
        submit="Release",
        effects=(f"Held because: {kit.hold_reason}", "It goes back to where it was."),
    )
    return act_page(
        request,
        page,
        lambda _: issue.release(kit, actor=request.user),
        home=kit.get_absolute_url(),
    )


@get_or_post
def retire_kit(request: DeskRequest, code: str) -> HttpResponse:
    """Out of use for good."""
    kit = kit_or_404(code)
    effects = (
        "It leaves the fleet for good and its code is not used again.",
        f"Kit type: {kit.kit_type.name}.",
    )
    page = ActPage(
        f"Retire kit {grouped(kit.code)}",
        submit="Retire",
        effects=effects,
        affected=(Affected("Become spares", parts_of(kit)),),
        danger=True,
        form_class=ReasonForm,
    )
    return act_page(
        request,
        page,
        lambda data: issue.retire(kit, reason=data["reason"], actor=request.user),
        home=kit.get_absolute_url(),
    )


@get_or_post
def note_kit(request: DeskRequest, code: str) -> HttpResponse:
    """A line for the history."""
    kit = kit_or_404(code)
    page = ActPage(f"Note for kit {grouped(kit.code)}", submit="Note", form_class=NoteForm)
    return act_page(
        request,
        page,
        lambda data: issue.note(kit, data["note"], actor=request.user),
        home=kit.get_absolute_url(),
    )
