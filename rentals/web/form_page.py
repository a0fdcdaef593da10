"""The one way to make a page of one form: shown, sent once, and shown again with what was typed
where the action refuses.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import HttpResponse

from .acting import Wording, carry_out, next_address
from .page_or_part import page_again
from .request import DeskRequest, posted

#: What a template needs, or how to load that: called only where the page is shown.
Context = dict[str, Any] | Callable[[], dict[str, Any]]
#: Calls one action with the form's cleaned data.
Action = Callable[[dict[str, Any]], Any]
#: A page of an act that touches thousands of things names this many.
NAMES_SHOWN = 500
PLAIN_PAGE = "rentals/web/edit.html"


def form_page(
    request: DeskRequest,
    form: forms.BaseForm,
    template: str,
    *,
    act: str,
    do: Action,
    then: Wording | None = None,
    success: Wording = "",
    undo: Wording = "",
    context: Context | None = None,
) -> HttpResponse:
    """Show a form and carry it out; `act`, `then`, `success` and `undo` are those of `carry_out`.

    The template gets the form as ``form``; the status is 422 where what was sent is not taken.
    """
    answer = carry_out(
        request,
        act,
        lambda: do(form.cleaned_data),
        then=then,
        success=success,
        undo=undo,
        form=form,
    )
    return answer or form_shown(request, form, template, context)


def form_shown(
    request: DeskRequest, form: forms.BaseForm, template: str, context: Context | None = None
) -> HttpResponse:
    """The page of a form, new or refused."""
    loaded = context() if callable(context) else context or {}
    return page_again(request, template, {"form": form, **loaded}, refused=form.is_bound)


def edit_page(
    request: DeskRequest,
    form: forms.BaseForm,
    *,
    title: str,
    home: str,
    do: Action,
    act: str = "save",
    then: Wording | None = None,
    success: Wording = "",
    template: str = PLAIN_PAGE,
) -> HttpResponse:
    """A plain page that keeps one thing: its fields one below the other, Save, and the way back to
    `home`.
    """
    context = {"title": title, "home": home}
    return form_page(
        request, form, template, act=act, do=do, then=then, success=success, context=context
    )


class ConfirmForm(forms.Form):
    """Nothing to fill in, only to confirm."""


@dataclass(frozen=True)
class Affected:
    """Things by name that an act touches; `heading` says what becomes of them."""

    heading: str
    names: tuple[str, ...]

    @property
    def shown(self) -> tuple[str, ...]:
        return self.names[:NAMES_SHOWN]

    @property
    def beyond(self) -> int:
        """How many are not named."""
        return len(self.names) - len(self.shown)


@dataclass(frozen=True)
class ActPage:
    """What the page of one act says. Above its fields stands what it will do: `effects` in
    sentences, `affected` by name, and `undo`, how it is taken back.

    Every act that loses something or leaves the house has such a page, or is taken back from its
    notice (`carry_out` with `undo`). `danger` is for what is lost for good.
    """

    title: str
    submit: str
    effects: tuple[str, ...] = ()
    affected: tuple[Affected, ...] = ()
    undo: str = ""
    danger: bool = False
    form_class: Callable[..., forms.Form] = ConfirmForm


def act_page(
    request: DeskRequest,
    page: ActPage,
    do: Action,
    *,
    home: str,
    act: str = "",
    then: Wording | None = None,
    success: Wording = "",
    undo: Wording = "",
    initial: dict[str, Any] | None = None,
    template: str = "rentals/web/act.html",
    context: dict[str, Any] | None = None,
) -> HttpResponse:
    """Show the form of an act and carry it out; afterwards back to where the user came from, else
    to `home`, unless `then` says otherwise. `act` is for a button whose words change (a count).
    """
    form = page.form_class(posted(request), initial=initial)
    came_from = next_address(request, home)
    return form_page(
        request,
        form,
        template,
        act=act or page.submit.lower(),
        do=do,
        then=came_from if then is None else then,
        success=success,
        undo=undo,
        context={"page": page, "home": came_from, **(context or {})},
    )
