"""The ready kit type: proposed, adjusted, made with one press."""

from __future__ import annotations

from django.http import HttpResponse
from django.urls import reverse

from rentals.actions.starter import make_kit_type
from rentals.forms.starter import StarterForm
from rentals.web.form_page import form_page
from rentals.web.request import DeskRequest, get_or_post, posted


@get_or_post
def starter(request: DeskRequest) -> HttpResponse:
    """Shows the ready list to be adjusted; makes the kit type and its stock."""
    form = StarterForm(posted(request))
    return form_page(
        request,
        form,
        "rentals/setup/starter.html",
        act="make a ready kit type",
        do=lambda data: make_kit_type(
            data["name"], data["instructions"], form.chosen, actor=request.user
        ),
        success=lambda kit_type: f"{kit_type.name} is made. Its kits and their parts are next.",
        context={"home": reverse("rentals:kit_types")},
    )
