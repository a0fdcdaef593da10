"""Days of the plan in Setup: how long the post takes, what a kit needs between two loans."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe
from django_countries import countries

from rentals.actions.setup import save_practice
from rentals.actions.transit import drop_transit, set_transit
from rentals.counts import counted
from rentals.forms.plan_days import NewTransitForm, PlanDaysForm, TransitForm
from rentals.models import Practice, TransitTime
from rentals.selectors.plan_days import day_rules
from rentals.selectors.transit import PLACES, TransitRow, place_name, transit_row, transit_rows
from rentals.web.finding import page_of
from rentals.web.form_page import ActPage, act_page, edit_page
from rentals.web.request import DeskRequest, get_or_post, posted


@require_safe
def plan_days(request: DeskRequest) -> HttpResponse:
    """All that the days of the plan are worked out with."""
    context = {"rules": day_rules(), "page": page_of(request, transit_rows())}
    return render(request, "rentals/setup/plan_days.html", context)


@get_or_post
def own_days(request: DeskRequest) -> HttpResponse:
    """Working days of the practice's own work."""
    form = PlanDaysForm(posted(request), instance=Practice.current())
    return _edit(
        request,
        form,
        "Turnaround and days to spare",
        lambda _: save_practice(form.instance),
        lambda _: _own_days_words(),
    )


@get_or_post
def transit_new(request: DeskRequest) -> HttpResponse:
    """Days to a further country."""
    form = NewTransitForm(posted(request))
    return _edit(request, form, "The post to a country", _set, _transit_words)


@get_or_post
def transit(request: DeskRequest, place: str) -> HttpResponse:
    """Other days to a place."""
    row = _row_or_404(place)
    initial = {"days_out": row.days_out, "days_back": row.days_back}
    form = TransitForm(posted(request), initial=initial)
    return _edit(
        request,
        form,
        f"The post: {row.name}",
        lambda data: _set(data | {"place": row.place}),
        _transit_words,
    )


def _set(data: dict[str, Any]) -> Any:
    place = str(data["place"])
    return set_transit(place, days_out=data["days_out"], days_back=data["days_back"])


def _edit(request: DeskRequest, form: Any, title: str, do: Any, success: Any) -> HttpResponse:
    home = reverse("rentals:plan_days")
    return edit_page(request, form, title=title, home=home, do=do, then=home, success=success)


def _own_days_words() -> str:
    """What was saved of the own days, as the page of the days says it."""
    rules = day_rules()
    between = counted(rules.turnaround.days, "working day", "working days")
    spare, to_send = rules.margins.spare, rules.margins.to_send
    return f"Saved: {between} between two loans, {spare} to spare, {to_send} for posting back."


def _transit_words(row: TransitTime) -> str:
    """What was saved of the post to a place."""
    there = counted(row.days_out, "working day", "working days")
    return f"Saved: {place_name(row.destination)}, {there} there, {row.days_back} back."


@get_or_post
def transit_drop(request: DeskRequest, place: str) -> HttpResponse:
    """A place counts as the usual one again."""
    row = _row_or_404(place)
    page = ActPage(
        f"Forget the days of the post: {row.name}",
        "Forget",
        ("Runs and loans keep the days they have.", "New ones count as usual."),
        undo="They can be set again.",
    )
    home = reverse("rentals:plan_days")
    return act_page(
        request,
        page,
        lambda _: drop_transit(row.place),
        home=home,
        success=f"{row.name}: the usual days of the post count again.",
    )


def _row_or_404(place: str) -> TransitRow:
    if place not in PLACES and place not in dict(countries):
        raise Http404("There is no such place.")
    return transit_row(place)
