"""Setup: kit types with their contents lists, and the practice."""

from __future__ import annotations

from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from rentals.actions.setup import move_line, remove_line, save_kit_type, save_line, save_practice
from rentals.forms.setup import ContentsLineForm, KitTypeForm, PracticeForm
from rentals.models import ContentsLine, KitType, Practice
from rentals.planning.contents import mass_of
from rentals.selectors.kit_types import kit_types_listed, kits_in_use
from rentals.web.form_page import edit_page
from rentals.web.request import DeskRequest, get_or_post, posted

MOST_TYPES = 200


@require_safe
def setup(request: DeskRequest) -> HttpResponse:
    """Where everything that rarely changes is set."""
    return render(request, "rentals/setup/index.html", {"practice": Practice.current()})


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
    return _edit_type(request, KitType(), "New kit type", reverse("rentals:kit_types"))


@get_or_post
def kit_type_edit(request: DeskRequest, pk: int) -> HttpResponse:
    """Name and care text."""
    kit_type = get_object_or_404(KitType, pk=pk)
    title = f"Change {kit_type.name}"
    return _edit_type(request, kit_type, title, kit_type.get_absolute_url())


def _edit_type(request: DeskRequest, kit_type: KitType, title: str, home: str) -> HttpResponse:
    form = KitTypeForm(posted(request), instance=kit_type)
    return edit_page(
        request, form, title=title, home=home, do=lambda _: save_kit_type(form.instance)
    )


@require_safe
def kit_type(request: DeskRequest, pk: int) -> HttpResponse:
    """One kit type: its contents in packing order."""
    kit_type = get_object_or_404(KitType, pk=pk)
    lines = list(kit_type.lines.select_related("stock_item"))
    context = {
        "kit_type": kit_type,
        "lines": lines,
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


@require_POST
def line_remove(request: DeskRequest, pk: int) -> HttpResponse:
    """Off the list; lists that went out keep it."""
    line = get_object_or_404(ContentsLine, pk=pk)
    home = line.kit_type.get_absolute_url()
    remove_line(line)
    return HttpResponseRedirect(home + "#lines")
