"""Parts: the list, one part, new ones, moves."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from rentals.actions.register import fit_part, mark_damaged, place_part, register_part
from rentals.forms.kits import DamageForm, NewPartForm, RemoveForm
from rentals.models import SERIAL_KINDS, Event, Part
from rentals.selectors.kits import parts_listed
from rentals.web.acting import carry_out
from rentals.web.finding import kit_or_404, page_of, part_or_404

from .kit_acts import ActPage, act_page, get_or_post


@require_safe
def part_list(request: HttpRequest) -> HttpResponse:
    """All parts with a serial, in kits and out of them."""
    q, kind, place = (request.GET.get(name, "") for name in ("q", "kind", "place"))
    kinds = [("", "all kinds"), *((k.value, k.label) for k in SERIAL_KINDS)]
    places = [("", "everywhere"), *Part.Place.choices, ("damaged", "damaged")]
    choices = [
        {
            "name": name,
            "label": label,
            "options": [{"value": v, "label": words, "current": v == now} for v, words in options],
        }
        for name, label, options, now in (
            ("kind", "Kind", kinds, kind),
            ("place", "Where", places, place),
        )
    ]
    context = {
        "page": page_of(request, parts_listed(q, kind, place)),
        "q": q,
        "choices": choices,
        "total": Part.objects.count(),
    }
    return render(request, "rentals/part/list.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def part_new(request: HttpRequest) -> HttpResponse:
    """Registers a part, as a spare or straight into a kit."""
    initial = {"kind": request.GET.get("kind", ""), "kit": request.GET.get("kit", "")}
    form = NewPartForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data

        def do() -> str:
            part = register_part(
                data["kind"],
                data["serial"],
                bought_on=data["bought_on"],
                actor=request.user,
                **form.facts(),
            )
            if not data["kit"]:
                return part.get_absolute_url()
            kit = kit_or_404(data["kit"])
            fit_part(kit, part, actor=request.user)
            return kit.get_absolute_url()

        answer = carry_out(request, "register part", do, form=form)
        if answer is not None:
            return answer
    status = 422 if request.method == "POST" else 200
    return render(
        request,
        "rentals/part/new.html",
        {"form": form, "parts_url": reverse("rentals:parts")},
        status=status,
    )


@require_safe
def part(request: HttpRequest, code: str) -> HttpResponse:
    """One part: where it is, what it is, where it has been."""
    part = part_or_404(code)
    context = {
        "part": part,
        "leads": part.leadset.leads.all() if part.kind == "lead_set" else [],
        "pack": getattr(part, "batterypack", None) if part.kind == "battery_pack" else None,
        "key": getattr(part, "licencekey", None) if part.kind == "licence_key" else None,
        "amplifier": getattr(part, "amplifier", None) if part.kind == "amplifier" else None,
        "events": Event.objects.filter(part=part).select_related("kit").order_by("-at", "-pk")[:30],
    }
    return render(request, "rentals/part/detail.html", context)


@get_or_post
def part_move(request: HttpRequest, code: str) -> HttpResponse:
    """A loose part goes from one place to another."""
    part = part_or_404(code)
    page = ActPage(
        f"Move {part.get_kind_display().lower()} {part.code}",
        "Move",
        (f"It is {part.get_place_display()} now.", "As a spare it counts as sound again."),
        form_class=RemoveForm,
    )
    return act_page(
        request,
        page,
        lambda data: place_part(part, data["to"], reason=data["reason"], actor=request.user),
        home=part.get_absolute_url(),
    )


@get_or_post
def part_damage(request: HttpRequest, code: str) -> HttpResponse:
    """Marks a part as damaged where it is."""
    part = part_or_404(code)
    page = ActPage(
        f"{part.get_kind_display()} {part.code} is damaged",
        "Mark damaged",
        ("A kit that holds it cannot go out until it is swapped.",),
        form_class=DamageForm,
    )
    return act_page(
        request,
        page,
        lambda data: mark_damaged(part, data["note"], lead=data["lead"], actor=request.user),
        home=part.get_absolute_url(),
    )
