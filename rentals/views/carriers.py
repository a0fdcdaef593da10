"""Carriers in Setup: their names and where their parcels are followed."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from rentals.actions.carriers import remove_carrier, save_carrier
from rentals.forms.carriers import CarrierForm
from rentals.models import Carrier
from rentals.web.finding import page_of
from rentals.web.form_page import ActPage, act_page, edit_page
from rentals.web.request import DeskRequest, get_or_post, posted


@require_safe
def carriers(request: DeskRequest) -> HttpResponse:
    """All carriers."""
    page = page_of(request, Carrier.objects.order_by("name", "pk"))
    return render(request, "rentals/setup/carriers.html", {"page": page})


@get_or_post
def carrier_new(request: DeskRequest) -> HttpResponse:
    """A further carrier."""
    return _edit(request, Carrier(), "New carrier")


@get_or_post
def carrier(request: DeskRequest, pk: int) -> HttpResponse:
    """Another name or address."""
    row = get_object_or_404(Carrier, pk=pk)
    return _edit(request, row, f"Change {row.name}")


def _edit(request: DeskRequest, row: Carrier, title: str) -> HttpResponse:
    form = CarrierForm(posted(request), instance=row)
    home = reverse("rentals:carriers")
    return edit_page(
        request,
        form,
        title=title,
        home=home,
        act="save carrier",
        do=lambda _: save_carrier(form.instance),
        then=home,
    )


@get_or_post
def carrier_remove(request: DeskRequest, pk: int) -> HttpResponse:
    """Forget a carrier."""
    row = get_object_or_404(Carrier, pk=pk)
    page = ActPage(
        f"Remove {row.name}",
        "Remove",
        ("Loans keep its name.", "Their tracking numbers are links no more."),
        undo="It can be added again.",
    )
    home = reverse("rentals:carriers")
    return act_page(request, page, lambda _: remove_carrier(row), home=home)
