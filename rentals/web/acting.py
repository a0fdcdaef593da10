"""The one way a view carries out an action: once per submitted form, refusals beside their
field.
"""

from __future__ import annotations

import functools
import uuid
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from functools import partial
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme

from rentals.actions.once import once, patiently, refused_in_words
from rentals.errors import Refused

from .changed_meanwhile import check_still_so, note_changed_meanwhile
from .page_or_part import go_to
from .request import DeskRequest

#: A text, or how it follows from what the action returned.
Wording = str | Callable[[Any], str]
#: What is done before the transaction of an act begins, such as storing bytes; what it gives lasts
#: until after the act.
First = Callable[[], AbstractContextManager[Any]]


def carry_out(
    request: DeskRequest,
    act: str,
    do: Callable[..., Any],
    *,
    first: First | None = None,
    then: Wording | None = None,
    success: Wording = "",
    undo: Wording = "",
    form: forms.BaseForm | None = None,
) -> HttpResponse | None:
    """Run `do` once for the form key in the request and go on to the next page.

    Parameters
    ----------
    act : str
        Name of the act, kept with the form key.
    do : callable
        Calls one action; with what `first` gave, where that is given.
    first : callable, optional
        Gives a context that is entered before the transaction begins and left after it.
    then : str or callable, optional
        The address to go to next, or how it follows from what `do` returned. Without it, the page
        of what `do` returned.
    success : str or callable, optional
        A sentence for the next page.
    undo : str or callable, optional
        The address that takes the act back when it is posted to: a button beside that sentence.
    form : Form, optional
        Must be valid first, and what it changes as it was when shown; takes the sentence of a
        refusal, beside the field it concerns.

    Returns
    -------
    HttpResponse or None
        A redirect, or None where the form is not valid or the action was refused: the view then
        shows its page again with what was typed. Without a form the sentence becomes a message.
    """
    if form is not None and not _may_be_done(form, request):
        return None

    def act_and_say() -> str:
        if form is not None:
            check_still_so(form)
        result = do(*prepared)
        if sentence := _worded(success, result):
            messages.success(request, sentence, extra_tags=_worded(undo, result))
        return result.get_absolute_url() if then is None else _worded(then, result)

    try:
        with refused_in_words(), _prepared(first) as prepared:
            address = once(
                form_key_of(request, act),
                act,
                act_and_say,
                by=request.user,
                expected=then if isinstance(then, str) else "",
            )
    except Refused as refusal:
        if form is None:
            messages.error(request, refusal.sentence)
        else:
            _add_refusal(form, refusal)
        return None
    return go_to(request, address)


@contextmanager
def _prepared(first: First | None) -> Iterator[tuple[Any, ...]]:
    """What goes to `do`: what `first` gives, if there is one."""
    if first is None:
        yield ()
        return
    with first() as given:
        yield (given,)


def _may_be_done(form: forms.BaseForm, request: DeskRequest) -> bool:
    """Whether what was sent is valid, and nobody has changed meanwhile what it changes."""
    if form.is_bound:
        note_changed_meanwhile(form, request.POST)
    return form.is_valid()


def press_button(
    request: DeskRequest,
    act: str,
    do: Callable[[], Any],
    *,
    home: str,
    then: Wording | None = None,
    success: Wording = "",
) -> HttpResponse:
    """Carry out a button that has no fields; refused, it leads to `home` with a message.

    Afterwards it leads to `then`, or to `home` too where there is no other page to go to.
    """
    next_page = home if then is None else then
    answer = carry_out(request, act, do, then=next_page, success=success)
    return answer or go_to(request, home)


def result_or_refusal(
    do: Callable[..., Any], form: forms.BaseForm, *, first: First | None = None
) -> Any | None:
    """What an action that is safe to repeat returns; None where the form is not valid or the action
    refuses, whose sentence then stands in the form. `first` as for `carry_out`.
    """
    if not form.is_valid():
        return None
    try:
        with refused_in_words(), _prepared(first) as prepared:
            return patiently(partial(do, *prepared))
    except Refused as refusal:
        _add_refusal(form, refusal)
        return None


def _add_refusal(form: forms.BaseForm, refusal: Refused) -> None:
    """Put the sentence of a refusal beside the field it concerns, else above the form."""
    field = refusal.field if refusal.field in form.fields else None
    form.add_error(field, refusal.sentence)


def post_or_go_to(route: str) -> Callable[[Callable[..., HttpResponse]], Callable[..., Any]]:
    """Decorate an act that is only posted: its address opened (a reload, the way back from a
    sign-in) leads to the page `route` of the same thing.
    """

    def decorate(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
        @functools.wraps(view)
        def act_or_page(request: DeskRequest, **place: Any) -> HttpResponse:
            if request.method != "POST":
                return HttpResponseRedirect(reverse(route, kwargs=place))
            return view(request, **place)

        return act_or_page

    return decorate


def next_address(request: HttpRequest, fallback: str) -> str:
    """Where the form asked to go afterwards, if that is a page of this desk; else the fallback."""
    address = request.POST.get("next") or request.GET.get("next") or ""
    safe = url_has_allowed_host_and_scheme(
        address, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return address if address and safe else fallback


def _worded(wording: Wording, result: Any) -> str:
    return wording if isinstance(wording, str) else wording(result)


def form_key_of(request: HttpRequest, act: str) -> uuid.UUID | None:
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
