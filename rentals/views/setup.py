"""Setup: kit types with their contents lists, and the practice."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from rentals.actions.setup import (
    move_line,
    put_back_line,
    remove_line,
    save_kit_type,
    save_line,
    save_practice,
)
from rentals.counts import counted
from rentals.forms.setup import ContentsLineForm, KitTypeForm, PracticeForm, RemoveLineForm
from rentals.models import ContentsLine, KitType, Practice, RemovedLine
from rentals.planning.contents import mass_of
from rentals.selectors.begun_parcels import OpenParcel, parcels_with
from rentals.selectors.kit_types import kit_types_listed, kits_in_use
from rentals.selectors.paper_facts.practice import practice_facts
from rentals.web.acting import press_button
from rentals.web.form_page import PLAIN_PAGE, ActPage, Affected, act_page, edit_page
from rentals.web.request import DeskRequest, get_or_post, posted

MOST_TYPES = 200
MOST_REMOVED = 10


@require_safe
def setup(request: DeskRequest) -> HttpResponse:
    """Where everything that rarely changes is set."""
    practice = Practice.current()
    context = {"practice": practice, "no_site": not practice_facts(practice).site_url}
    return render(request, "rentals/setup/index.html", context)


@get_or_post
def practice(request: DeskRequest) -> HttpResponse:
    """Name, address, currency, mains, paper."""
    form = PracticeForm(posted(request), instance=Practice.current())
    home = reverse("rentals:setup")
    return edit_page(
        request,
        form,
        title="The practice",
        home=home,
        do=lambda _: save_practice(form.instance),
        then=home,
    )


@require_safe
def kit_types(request: DeskRequest) -> HttpResponse:
    """All kit types."""
    types = kit_types_listed()[:MOST_TYPES]
    return render(request, "rentals/setup/kit_types.html", {"kit_types": types})


@get_or_post
def kit_type_new(request: DeskRequest) -> HttpResponse:
    """A new contents list."""
    home = reverse("rentals:kit_types")
    return _edit_type(request, KitType(), "New kit type", home, "rentals/setup/kit_type_new.html")


@get_or_post
def kit_type_edit(request: DeskRequest, pk: int) -> HttpResponse:
    """Name and care text."""
    kit_type = get_object_or_404(KitType, pk=pk)
    title = f"Change {kit_type.name}"
    return _edit_type(request, kit_type, title, kit_type.get_absolute_url())


def _edit_type(
    request: DeskRequest, kit_type: KitType, title: str, home: str, template: str = PLAIN_PAGE
) -> HttpResponse:
    form = KitTypeForm(posted(request), instance=kit_type)

    def save(_: object) -> KitType:
        return save_kit_type(form.instance)

    return edit_page(request, form, title=title, home=home, do=save, template=template)


@require_safe
def kit_type(request: DeskRequest, pk: int) -> HttpResponse:
    """One kit type: its contents in packing order."""
    kit_type = get_object_or_404(KitType, pk=pk)
    lines = list(kit_type.lines.select_related("stock_item"))
    context = {
        "kit_type": kit_type,
        "lines": lines,
        "steps": kit_type.return_steps.all(),
        "removed": kit_type.removed_lines.all()[:MOST_REMOVED],
        "mass_g": mass_of(lines),
        "kit_count": kits_in_use(kit_type),
        "plan_url": reverse("readiness:plan", args=[kit_type.pk]),
    }
    return render(request, "rentals/setup/kit_type.html", context)


@get_or_post
def line_new(request: DeskRequest, pk: int) -> HttpResponse:
    """A further line."""
    kit_type = get_object_or_404(KitType, pk=pk)
    return _edit_line(request, ContentsLine(kit_type=kit_type), f"New line of {kit_type.name}")


@get_or_post
def line_edit(request: DeskRequest, pk: int) -> HttpResponse:
    """Change a line."""
    line = get_object_or_404(ContentsLine.objects.select_related("kit_type"), pk=pk)
    return _edit_line(request, line, f"{line.name} in {line.kit_type.name}")


def _edit_line(request: DeskRequest, line: ContentsLine, title: str) -> HttpResponse:
    form = ContentsLineForm(posted(request), instance=line)
    home = line.kit_type.get_absolute_url()
    return edit_page(
        request, form, title=title, home=home, do=lambda _: save_line(form.instance), then=home
    )


@require_POST
def line_move(request: DeskRequest, pk: int) -> HttpResponse:
    """One place up or down."""
    line = get_object_or_404(ContentsLine, pk=pk)
    move_line(line, up=request.POST.get("to") == "up")
    return HttpResponseRedirect(line.kit_type.get_absolute_url() + "#lines")


@get_or_post
def line_remove(request: DeskRequest, pk: int) -> HttpResponse:
    """Says which packing lists would change, then takes the line off the list."""
    line = get_object_or_404(ContentsLine.objects.select_related("kit_type"), pk=pk)
    kit_type, parcels = line.kit_type, parcels_with(line)
    begun = [parcel for parcel in parcels if parcel.begun]
    untouched = tuple(str(parcel) for parcel in parcels if not parcel.begun)
    page = ActPage(
        f"Take {line.name} off {kit_type.name}",
        submit="Remove",
        effects=_removal_effects(line, parcels),
        affected=(Affected(f"Lists that lose it: {len(untouched)}", untouched),),
        undo="It can be put back from the notice, or from the kit type's page.",
        form_class=partial(RemoveLineForm, begun=begun),
    )
    return act_page(
        request,
        page,
        lambda data: remove_line(line, also_from=data.get("also_from", ())),
        home=kit_type.get_absolute_url(),
        success=f"{line.name} was taken off {kit_type.name}.",
        undo=lambda removed: reverse("rentals:contents_line_put_back", args=[removed.pk]),
    )


def _removal_effects(line: ContentsLine, parcels: Sequence[OpenParcel]) -> tuple[str, ...]:
    frozen = "Lists of parcels that are packed or have gone out stay as they are."
    if not parcels:
        return (f"No packing list that is open holds {line.name}.", frozen)
    begun = sum(parcel.begun for parcel in parcels)
    if not begun:
        return (frozen,)
    stays = counted(begun, "parcel that is begun goes", "parcels that are begun go")
    return (f"{stays} on packing {line.name}, but for those that you tick below.", frozen)


@require_POST
def line_put_back(request: DeskRequest, pk: int) -> HttpResponse:
    """A removed line is back in its place; refused where it is there already."""
    removed = RemovedLine.objects.select_related("kit_type").filter(pk=pk).first()
    if removed is None:
        messages.info(request, "That line is back on its list already.")
        return HttpResponseRedirect(reverse("rentals:kit_types"))
    return press_button(
        request,
        "put a line back",
        lambda: put_back_line(removed),
        home=removed.kit_type.get_absolute_url(),
        success=f"{removed.name} is back on the list.",
    )
