"""Parts: the list, one part, new ones, moves."""

from __future__ import annotations

from functools import partial
from typing import Any

from django.contrib.auth.models import User
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from rentals.actions.part_end import end_words
from rentals.actions.register import fit_part, mark_damaged, place_part, register_part
from rentals.forms.kits import DamageForm, MoveForm, NewPartForm
from rentals.models import SERIAL_KINDS, Kit, Part
from rentals.selectors.kits import DAMAGED, parts_listed
from rentals.selectors.part_page import part_page
from rentals.web.filters import FilterChoice, list_filter
from rentals.web.finding import kit_or_404, page_of, part_or_404
from rentals.web.form_page import ActPage, act_page, form_page
from rentals.web.request import DeskRequest, get_or_post, posted
from rentals.web.sorting import SortKey, list_order, sort_choice

KINDS = [("", "all kinds"), *((kind.value, kind.label) for kind in SERIAL_KINDS)]
PLACES = [("", "everywhere"), *Part.Place.choices, (DAMAGED, "damaged")]


PART_KEYS = (
    SortKey("code", "Part", ("code",)),
    SortKey("kind", "Kind", ("kind", "code")),
    SortKey("serial", "Serial", ("serial",)),
    SortKey("where", "Where", ("place", "kit__code")),
)


@require_safe
def part_list(request: DeskRequest) -> HttpResponse:
    """All parts with a serial, in kits and out of them."""
    wanted = list_filter(
        request,
        FilterChoice("kind", "Kind", KINDS),
        FilterChoice("place", "Where", PLACES),
        sort_choice(PART_KEYS),
    )
    order = list_order(request, PART_KEYS)
    parts = parts_listed(wanted.words, wanted.chosen("kind"), wanted.chosen("place"))
    context = {
        "page": page_of(request, order.applied(parts)),
        "heads": order.heads,
        "total": Part.objects.count(),
        **wanted.context(),
    }
    return render(request, "rentals/part/list.html", context)


@get_or_post
def part_new(request: DeskRequest) -> HttpResponse:
    """Registers a part, as a spare or straight into a kit."""
    initial = {"kind": request.GET.get("kind", ""), "kit": request.GET.get("kit", "")}
    form = NewPartForm(posted(request), initial=initial)
    return form_page(
        request,
        form,
        "rentals/part/new.html",
        act="register part",
        do=lambda _: _registered(form, request.user),
        context={"parts_url": reverse("rentals:parts")},
    )


def _registered(form: NewPartForm, actor: User) -> Part | Kit:
    """Register the part and fit it where a kit was named; returns that whose page is next."""
    data: dict[str, Any] = form.cleaned_data
    part = register_part(
        data["kind"], data["serial"], bought_on=data["bought_on"], actor=actor, **form.facts()
    )
    if not data["kit"]:
        return part
    kit = kit_or_404(data["kit"])
    fit_part(kit, part, actor=actor)
    return kit


@require_safe
def part(request: DeskRequest, code: str) -> HttpResponse:
    """One part: where it is, what it is, where it has been."""
    part = part_or_404(code)
    context = {"part": part, **vars(part_page(part))}
    return render(request, "rentals/part/detail.html", context)


@get_or_post
def part_move(request: DeskRequest, code: str) -> HttpResponse:
    """A loose part goes from one place to another."""
    part = part_or_404(code)
    page = ActPage(
        f"Move or retire {part.get_kind_display().lower()} {part.code}",
        submit="Move or retire",
        effects=(f"It is {part.get_place_display()} now.", *_sound_again(part)),
        form_class=partial(MoveForm, part=part),
    )
    return act_page(
        request,
        page,
        lambda data: place_part(part, **data, actor=request.user),
        home=part.get_absolute_url(),
        success=lambda moved: f"{moved.get_kind_display()} {moved.code}: now {end_words(moved)}.",
    )


def _sound_again(part: Part) -> tuple[str, ...]:
    """What is said of a part that would become sound by becoming a spare."""
    return ("As a spare it counts as sound again.",) if part.damaged else ()


@get_or_post
def part_damage(request: DeskRequest, code: str) -> HttpResponse:
    """Marks a part as damaged where it is."""
    part = part_or_404(code)
    page = ActPage(
        f"{part.get_kind_display()} {part.code} is damaged",
        submit="Mark damaged",
        effects=("A kit that holds it cannot go out until it is swapped.",),
        form_class=DamageForm,
    )
    return act_page(
        request,
        page,
        lambda data: mark_damaged(part, data["note"], lead=data["lead"], actor=request.user),
        home=part.get_absolute_url(),
    )
