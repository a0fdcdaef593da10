"""A whole fleet from a table: pasted or sent, looked at row by row, registered with one press."""

from __future__ import annotations

from django.http import HttpResponse
from django.urls import reverse

from rentals.actions.fleet import register_fleet
from rentals.actions.fleet_errand import REGISTERED_AT_ONCE, ask_fleet
from rentals.forms.fleet import FleetForm, types_with_serials
from rentals.models import ErrandKind
from rentals.roster.fleet_table import as_text, without_rows
from rentals.row_numbers import row_number
from rentals.selectors.errands import errands_about, errands_of
from rentals.selectors.fleet import fleet_on_file
from rentals.states import KitState
from rentals.web.acting import carry_out
from rentals.web.page_or_part import page_again
from rentals.web.request import DeskRequest, get_or_post

from .fleet_preview import FleetPreview, column_choices, preview_fleet

_TEMPLATE = "rentals/kit/fleet.html"


@get_or_post
def fleet(request: DeskRequest) -> HttpResponse:
    """Says of each row what it would do; nothing is written before that is confirmed."""
    if request.method != "POST" and (typed := _typed_for(request)):
        form = FleetForm(typed, {})
        return _page(request, form, _preview(form))
    if request.method != "POST":
        initial = {"kit_type": request.GET.get("type", "")}
        return _page(request, FleetForm(initial=initial), None)
    form = FleetForm(request.POST, request.FILES)
    preview = _preview(form)
    if preview is not None and request.POST.get("do") == "leave_wrong":
        form.sheet = without_rows(form.sheet, preview.wrong_rows)
        form = _boxed(request, form)
        preview = _preview(form)
    if preview is not None and request.POST.get("do") == "save":
        answer = _register(request, form)
        if answer is not None:
            return answer
    to_box = (request.FILES or form.letters_changed) and form.fleet is not None
    boxed = _boxed(request, form) if to_box else form
    return _page(request, boxed, preview)


def _typed_for(request: DeskRequest) -> dict[str, str]:
    """The form that work in the background (``?work=``) was asked for with; empty for none."""
    pk = row_number(request.GET.get("work", ""))
    work = errands_of(request.user).filter(pk=pk, kind=ErrandKind.FLEET).first() if pk else None
    return work.facts["typed"] if work else {}


def _preview(form: FleetForm) -> FleetPreview | None:
    if not form.is_valid() or form.fleet is None:
        return None
    return preview_fleet(form.fleet, fleet_on_file(form.fleet, form.cleaned_data["kit_type"]))


def _boxed(request: DeskRequest, form: FleetForm) -> FleetForm:
    """The same form with its table in the box, where it can be corrected."""
    typed = request.POST.copy()
    typed["table"] = as_text(form.sheet)
    typed["read_as"], typed["original"] = form.read_as, form.carried
    typed.pop("letters", None)
    boxed = FleetForm(typed)
    boxed.is_valid()
    return boxed


def _register(request: DeskRequest, form: FleetForm) -> HttpResponse | None:
    table, kit_type = form.fleet, form.cleaned_data["kit_type"]
    assert table is not None
    seen = request.POST.get("seen", "")
    if len(table.rows) > REGISTERED_AT_ONCE:
        return carry_out(
            request,
            "register a fleet",
            lambda: ask_fleet(table, kit_type, typed=form.typed, seen=seen, actor=request.user),
            form=form,
        )
    return carry_out(
        request,
        "register a fleet",
        lambda: register_fleet(table, kit_type, seen=seen, actor=request.user),
        then=f"{reverse('rentals:kits')}?state={KitState.BENCH}",
        success=lambda registered: registered.sentence,
        form=form,
    )


def _page(request: DeskRequest, form: FleetForm, preview: FleetPreview | None) -> HttpResponse:
    context = {
        "form": form,
        "preview": preview,
        "columns": column_choices(form),
        "long": REGISTERED_AT_ONCE,
        "errands": errands_about(request.path, request.user),
        "no_types": not types_with_serials().exists(),
    }
    return page_again(request, _TEMPLATE, context, refused=form.is_bound and bool(form.errors))
