"""Access tokens of other programs: made, shown once, revoked. The owner's pages."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from rentals.actions.access_tokens import make_access_token, revoke_access_token
from rentals.actions.once import once
from rentals.errors import Refused
from rentals.forms.access_tokens import AccessTokenForm
from rentals.models import AccessToken
from rentals.selectors.access_tokens import access_tokens, token_events, token_lines
from rentals.web.acting import form_key_of
from rentals.web.finding import page_of
from rentals.web.form_page import ActPage, act_page, form_shown
from rentals.web.request import DeskRequest, get_or_post, posted

ACT = "make an access token"
EVENTS_SHOWN = 12


@get_or_post
def tokens(request: DeskRequest) -> HttpResponse:
    """All that were made, and a form for a new one, whose secret is shown this once."""
    form = AccessTokenForm(posted(request))
    if form.is_valid():
        answer = _made(request, form)
        if answer is not None:
            return answer
    return form_shown(
        request, form, "rentals/setup/access_tokens.html", lambda: _tokens_context(request)
    )


def _made(request: DeskRequest, form: AccessTokenForm) -> HttpResponse | None:
    """The page with the secret: it is kept nowhere, so the answer to the form is the page."""
    home, made = reverse("rentals:access_tokens"), []
    facts = form.cleaned_data

    def make_and_go() -> str:
        made.append(
            make_access_token(
                facts["name"],
                facts["scopes"],
                expires_on=facts["expires_on"],
                actor=request.user,
            )
        )
        return home

    try:
        once(form_key_of(request, ACT), ACT, make_and_go, by=request.user)
    except Refused as refusal:
        form.add_error(refusal.field if refusal.field in form.fields else None, refusal.sentence)
        return None
    if not made:  # Sent twice: the first answer has shown it.
        return HttpResponseRedirect(home)
    context = {"name": facts["name"], "key": made[0]}
    return render(request, "rentals/setup/access_token_made.html", context)


def _tokens_context(request: DeskRequest) -> dict[str, Any]:
    page = page_of(request, access_tokens())
    return {"page": page, "lines": token_lines(page), "events": token_events(EVENTS_SHOWN)}


@get_or_post
def revoke(request: DeskRequest, pk: int) -> HttpResponse:
    """A token opens nothing any more."""
    token = get_object_or_404(AccessToken, pk=pk)
    effects = (
        "Whatever uses it is refused from now on.",
        "Its name stays in the events; another token needs another name.",
    )
    page = ActPage(
        f"Revoke the access token “{token.name}”", submit="Revoke", effects=effects, danger=True
    )
    return act_page(
        request,
        page,
        lambda _: revoke_access_token(token, actor=request.user),
        home=reverse("rentals:access_tokens"),
    )
