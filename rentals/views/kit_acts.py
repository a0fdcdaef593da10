"""What can be done to a kit, each on a small page of its own that works on the phone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from rentals.actions import issue
from rentals.actions.register import fit_part, remove_part, swap_part
from rentals.codes import grouped
from rentals.forms.kits import FitForm, NoForm, NoteForm, ReasonForm, RemoveForm, SwapForm
from rentals.models import Kit, Part
from rentals.web.acting import carry_out, next_address
from rentals.web.finding import kit_or_404, part_or_404

get_or_post = require_http_methods(["GET", "HEAD", "POST"])


@dataclass(frozen=True)
class ActPage:
    """What the page of one act says."""

    title: str
    submit: str
    effects: tuple[str, ...] = ()
    danger: bool = False
    form_class: type[forms.Form] = NoForm


def act_page(
    request: HttpRequest,
    page: ActPage,
    do: Callable[[dict[str, Any]], object],
    *,
    home: str,
    extra: dict[str, Any] | None = None,
    initial: dict[str, Any] | None = None,
) -> HttpResponse:
    """Show the form of an act and carry it out; afterwards back to where the user came from."""
    posted = request.method == "POST"
    form = page.form_class(request.POST if posted else None, initial=initial)
    target = next_address(request, home)
    if posted and form.is_valid():

        def run() -> str:
            do(form.cleaned_data)
            return target

        answer = carry_out(request, page.submit.lower(), run, form=form)
        if answer is not None:
            return answer
    context = {"form": form, "page": page, "home": target, **(extra or {})}
    return render(request, "rentals/kit/act.html", context, status=422 if posted else 200)


@get_or_post
def fit(request: HttpRequest, code: str) -> HttpResponse:
    """Put a spare in."""
    kit = kit_or_404(code)
    page = ActPage(
        f"Fit a part into {grouped(kit.code)}",
        "Fit",
        ("The kit must be tested again before it goes out.",),
        form_class=FitForm,
    )
    return act_page(
        request,
        page,
        lambda data: fit_part(kit, data["part"], actor=request.user),
        home=kit.get_absolute_url(),
        extra={"spares": _spares(kit)},
    )


@get_or_post
def swap(request: HttpRequest, code: str, part: str) -> HttpResponse:
    """Replace a fitted part by a spare of its kind."""
    kit, old = kit_or_404(code), part_or_404(part)
    page = ActPage(
        f"Swap the {old.get_kind_display().lower()} of {grouped(kit.code)}",
        "Swap",
        (f"{grouped(old.code)} comes out.", "The kit must be tested again before it goes out."),
        form_class=SwapForm,
    )
    return act_page(
        request,
        page,
        lambda data: swap_part(
            kit, old, data["part"], to=data["to"], reason=data["reason"], actor=request.user
        ),
        home=kit.get_absolute_url(),
        extra={"spares": _spares(kit, old.kind)},
    )


def _spares(kit: Kit, kind: str = "") -> list[Part]:
    """Sound spares that could go in, so that nobody must walk to the shelf to read a code."""
    kinds = (
        [kind]
        if kind
        else [line.part_kind for line in kit.kit_type.lines.all() if line.tracked_by == "serial"]
    )
    return list(
        Part.objects.filter(kind__in=kinds, place=Part.Place.SPARE, damaged=False).order_by(
            "kind", "code"
        )[:12]
    )


@get_or_post
def remove(request: HttpRequest, code: str, part: str) -> HttpResponse:
    """Take a part out."""
    kit, old = kit_or_404(code), part_or_404(part)
    page = ActPage(
        f"Take {old.get_kind_display().lower()} {grouped(old.code)} out of {grouped(kit.code)}",
        "Take out",
        ("The kit is incomplete until another is fitted.",),
        danger=True,
        form_class=RemoveForm,
    )
    return act_page(
        request,
        page,
        lambda data: remove_part(
            kit, old, to=data["to"], reason=data["reason"], actor=request.user
        ),
        home=kit.get_absolute_url(),
    )


@get_or_post
def hold_kit(request: HttpRequest, code: str) -> HttpResponse:
    """Take the kit out of the loop for a while."""
    kit = kit_or_404(code)
    page = ActPage(
        f"Hold kit {grouped(kit.code)}",
        "Hold",
        ("It cannot be assigned, packed or cleared until it is released.",),
        form_class=ReasonForm,
    )
    return act_page(
        request,
        page,
        lambda data: issue.hold(kit, reason=data["reason"], actor=request.user),
        home=kit.get_absolute_url(),
    )


@get_or_post
def release_kit(request: HttpRequest, code: str) -> HttpResponse:
    """End the hold."""
    kit = kit_or_404(code)
    page = ActPage(
        f"Release kit {grouped(kit.code)}",
        "Release",
        (f"Held because: {kit.hold_reason}", "It goes back to where it was."),
    )
    return act_page(
        request,
        page,
        lambda data: issue.release(kit, actor=request.user),
        home=kit.get_absolute_url(),
    )


@get_or_post
def retire_kit(request: HttpRequest, code: str) -> HttpResponse:
    """Out of use for good."""
    kit = kit_or_404(code)
    page = ActPage(
        f"Retire kit {grouped(kit.code)}",
        "Retire",
        (
            "It leaves the fleet for good and its code is not used again.",
            "Its parts become spares.",
        ),
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
def note_kit(request: HttpRequest, code: str) -> HttpResponse:
    """A line for the history."""
    kit = kit_or_404(code)
    page = ActPage(f"Note for kit {grouped(kit.code)}", "Note", form_class=NoteForm)
    return act_page(
        request,
        page,
        lambda data: issue.note(kit, data["note"], actor=request.user),
        home=kit.get_absolute_url(),
    )
