"""Customs in Setup: the table with its source, and the owner's own answers."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from rentals.actions.customs import answer_customs, drop_customs_answer
from rentals.forms.customs import NEEDED, NOT_NEEDED, CustomsAnswerForm
from rentals.models import CustomsAnswer
from rentals.paper.customs import place_named, place_of
from rentals.paper.customs_places import CHECKED, PLACES, SOURCE, CustomsPlace
from rentals.paper.facts import Address
from rentals.selectors.customs import customs_between
from rentals.selectors.paper_facts.practice import practice_facts
from rentals.web.finding import page_of
from rentals.web.form_page import edit_page
from rentals.web.request import DeskRequest, get_or_post, posted


@require_safe
def customs(request: DeskRequest) -> HttpResponse:
    """The special places, what makes them special, and what the owner said of any place."""
    page = page_of(request, CustomsAnswer.objects.order_by("destination", "home"))
    answers = [
        {"row": row, "name": _name(row.destination), "home": _name(row.home)} for row in page
    ]
    context = {"page": page, "answers": answers, "places": PLACES}
    context |= {"source": SOURCE, "checked": CHECKED}
    return render(request, "rentals/setup/customs.html", context)


def _name(key: str) -> str:
    place = place_named(key)
    return place.name if place else key


@get_or_post
def customs_place(request: DeskRequest, place: str) -> HttpResponse:
    """The owner's answer for one destination; it holds for all later parcels there."""
    away, home = place_named(place), _home()
    if away is None:
        raise Http404("There is no such place.")
    if home is None:
        return redirect("rentals:practice")
    finding = customs_between(home, away)
    row = finding.answer
    initial = {"answer": _word_of(row), "note": row.note if row else ""}
    form = CustomsAnswerForm(posted(request), table_says=finding.table_says, initial=initial)
    back = reverse("rentals:customs")
    return edit_page(
        request,
        form,
        title=f"Customs: parcels to {away.name}",
        home=back,
        act="answer customs",
        do=lambda typed: _keep(request, home, away, typed),
        then=back,
    )


def _home() -> CustomsPlace | None:
    address: Address | None = practice_facts().address
    return place_of(address) if address and address.country else None


def _word_of(row: CustomsAnswer | None) -> str:
    if row is None:
        return ""
    return NEEDED if row.needed else NOT_NEEDED


def _keep(
    request: DeskRequest, home: CustomsPlace, away: CustomsPlace, typed: dict[str, Any]
) -> None:
    if not typed["answer"]:
        drop_customs_answer(home.key, away.key)
        return
    answer_customs(
        home.key,
        away.key,
        needed=typed["answer"] == NEEDED,
        note=typed["note"],
        actor=request.user,
    )
