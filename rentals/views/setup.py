"""Setup: kit types with their contents lists, and the practice."""

from __future__ import annotations

from collections.abc import Callable

from django import forms
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import NoReverseMatch, reverse
from django.views.decorators.http import require_POST, require_safe

from rentals.actions.setup import move_line, remove_line, save_kit_type, save_line, save_practice
from rentals.forms.setup import ContentsLineForm, KitTypeForm, PracticeForm
from rentals.models import ContentsLine, KitType, Practice
from rentals.web.acting import carry_out

from .kit_acts import get_or_post


def _address(name: str, *args: object) -> str:
    """The address of a page of another app, or empty where that app is not there."""
    try:
        return reverse(name, args=args)
    except NoReverseMatch:
        return ""


@require_safe
def setup(request: HttpRequest) -> HttpResponse:
    """Where everything that rarely changes is set."""
    return render(request, "rentals/setup/index.html", {"practice": Practice.current()})


def _edit(
    request: HttpRequest,
    form: forms.BaseForm,
    do: Callable[[], str],
    *,
    title: str,
    home: str,
    act: str = "save",
) -> HttpResponse:
    if request.method == "POST" and form.is_valid():
        answer = carry_out(request, act, do, form=form)
        if answer is not None:
            return answer
    status = 422 if request.method == "POST" else 200
    return render(
        request,
        "rentals/setup/edit.html",
        {"form": form, "title": title, "home": home},
        status=status,
    )


@get_or_post
def practice(request: HttpRequest) -> HttpResponse:
    """Name, address, currency, mains, paper."""
    form = PracticeForm(request.POST or None, instance=Practice.current())
    home = reverse("rentals:setup")

    def do() -> str:
        save_practice(form.instance)
        return home

    return _edit(request, form, do, title="The practice", home=home)


@require_safe
def kit_types(request: HttpRequest) -> HttpResponse:
    """All kit types."""
    types = KitType.objects.annotate(
        kit_count=Count("kits", filter=~Q(kits__state="retired"), distinct=True),
        line_count=Count("lines", distinct=True),
    )
    return render(request, "rentals/setup/kit_types.html", {"kit_types": types[:200]})


@get_or_post
def kit_type_new(request: HttpRequest) -> HttpResponse:
    """A new contents list."""
    form = KitTypeForm(request.POST or None, instance=KitType())

    def do() -> str:
        return save_kit_type(form.instance).get_absolute_url()

    return _edit(request, form, do, title="New kit type", home=reverse("rentals:kit_types"))


@get_or_post
def kit_type_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Name and care text."""
    kit_type = get_object_or_404(KitType, pk=pk)
    form = KitTypeForm(request.POST or None, instance=kit_type)

    def do() -> str:
        return save_kit_type(form.instance).get_absolute_url()

    return _edit(
        request, form, do, title=f"Change {kit_type.name}", home=kit_type.get_absolute_url()
    )


@require_safe
def kit_type(request: HttpRequest, pk: int) -> HttpResponse:
    """One kit type: its contents in packing order."""
    kit_type = get_object_or_404(KitType, pk=pk)
    lines = list(kit_type.lines.select_related("stock_item"))
    context = {
        "kit_type": kit_type,
        "lines": lines,
        "mass_g": sum(line.mass_g * line.quantity for line in lines),
        "kit_count": kit_type.kits.exclude(state="retired").count(),
        "plan_url": _address("readiness:plan", kit_type.pk),
    }
    return render(request, "rentals/setup/kit_type.html", context)


@get_or_post
def line_new(request: HttpRequest, pk: int) -> HttpResponse:
    """A further line."""
    kit_type = get_object_or_404(KitType, pk=pk)
    return _line(request, ContentsLine(kit_type=kit_type), f"New line of {kit_type.name}")


@get_or_post
def line_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a line."""
    line = get_object_or_404(ContentsLine.objects.select_related("kit_type"), pk=pk)
    return _line(request, line, f"{line.name} in {line.kit_type.name}")


def _line(request: HttpRequest, line: ContentsLine, title: str) -> HttpResponse:
    form = ContentsLineForm(request.POST or None, instance=line)
    home = line.kit_type.get_absolute_url()

    def do() -> str:
        save_line(form.instance)
        return home

    return _edit(request, form, do, title=title, home=home)


@require_POST
def line_move(request: HttpRequest, pk: int) -> HttpResponse:
    """One place up or down."""
    line = get_object_or_404(ContentsLine, pk=pk)
    move_line(line, up=request.POST.get("to") == "up")
    return HttpResponseRedirect(line.kit_type.get_absolute_url() + "#lines")


@require_POST
def line_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Off the list; lists that went out keep it."""
    line = get_object_or_404(ContentsLine, pk=pk)
    home = line.kit_type.get_absolute_url()
    remove_line(line)
    return HttpResponseRedirect(home + "#lines")
