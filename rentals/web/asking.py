"""The page that asks for work in the background."""

from __future__ import annotations

from django.http import HttpResponse

from rentals.actions.errands import ErrandAsked, ask_errand

from .form_page import ActPage, act_page
from .request import DeskRequest


def asking_page(request: DeskRequest, page: ActPage, asked: ErrandAsked) -> HttpResponse:
    """Say what will be done; confirmed, it leads to the page that shows how far that is."""
    return act_page(
        request,
        page,
        lambda _: ask_errand(asked, actor=request.user),
        home=asked.about,
        then=lambda errand: errand.get_absolute_url(),
    )
