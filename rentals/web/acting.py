"""The one way a view carries out an action: once per submitted form, refusals beside their
field.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.utils.http import url_has_allowed_host_and_scheme

from rentals.actions.once import once
from rentals.errors import Refused


def carry_out(
    request: HttpRequest, act: str, do: Callable[[], str], *, form: forms.BaseForm | None = None
) -> HttpResponse | None:
    """Run `do` once for the form key in the request and go where it says.

    Parameters
    ----------
    act : str
        Name of the act, kept with the form key.
    do : callable
        Calls one action and returns the address to go to next.
    form : Form, optional
        Takes the sentence of a refusal, beside the field it concerns.

    Returns
    -------
    HttpResponse or None
        A redirect, or None where the action was refused: the view then shows its page again with
        what was typed. Without a form the sentence becomes a message.
    """
    try:
        target = once(_key_of(request, act), act, do, by=request.user)
    except Refused as refusal:
        if form is None:
            messages.error(request, refusal.sentence)
        else:
            form.add_error(
                refusal.field if refusal.field in form.fields else None, refusal.sentence
            )
        return None
    if request.headers.get("HX-Request"):
        return HttpResponse(status=204, headers={"HX-Redirect": target})
    return HttpResponseRedirect(target)


def _key_of(request: HttpRequest, act: str) -> uuid.UUID | None:
    """The form's key, made one with the act and all that was typed.

    The same form sent twice has the same key and does nothing twice; a form sent again from the
    browser's Back button with other words in it has another, and its words are not lost.
    """
    try:
        form_key = uuid.UUID(request.POST.get("form_key", ""))
    except ValueError:
        return None
    typed = sorted(
        (name, values) for name, values in request.POST.lists() if name != "csrfmiddlewaretoken"
    )
    sent = [(name, file.name, file.size) for name, files in request.FILES.lists() for file in files]
    return uuid.uuid5(form_key, repr((request.path, act, typed, sent)))


def next_address(request: HttpRequest, fallback: str) -> str:
    """Where the form asked to go afterwards, if that is a page of this desk; else the fallback."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    safe = url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return wanted if wanted and safe else fallback
