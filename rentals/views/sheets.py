"""Sheets of labels in Setup: those built in, and those that the practice measured itself."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from rentals.actions.paper import remove_sheet, save_sheet
from rentals.forms.sheets import SheetForm, measures_like
from rentals.models import LabelSheet
from rentals.paper.sheets import SHEETS
from rentals.selectors.paper_facts.sheets import layout_of
from rentals.web.form_page import ActPage, act_page, edit_page
from rentals.web.request import DeskRequest, get_or_post, posted


@require_safe
def sheets(request: DeskRequest) -> HttpResponse:
    """All sheets."""
    own = [(row, layout_of(row)) for row in LabelSheet.objects.all()[:200]]
    return render(
        request, "rentals/paper/sheets.html", {"own": own, "built_in": list(SHEETS.values())}
    )


@get_or_post
def sheet_new(request: DeskRequest) -> HttpResponse:
    """Measure a sheet; ``?like=`` begins with the measures of a built-in one."""
    return _edit(
        request, LabelSheet(), "New sheet of labels", measures_like(request.GET.get("like", ""))
    )


@get_or_post
def sheet(request: DeskRequest, pk: int) -> HttpResponse:
    """Change a sheet's measures."""
    row = get_object_or_404(LabelSheet, pk=pk)
    return _edit(request, row, f"Change {row.name}", {})


def _edit(
    request: DeskRequest, row: LabelSheet, title: str, initial: dict[str, Any]
) -> HttpResponse:
    form = SheetForm(posted(request), instance=row, initial=initial)
    home = reverse("rentals:sheets")
    return edit_page(
        request,
        form,
        title=title,
        home=home,
        act="save sheet",
        do=lambda _: save_sheet(form.instance),
        then=home,
    )


@get_or_post
def sheet_remove(request: DeskRequest, pk: int) -> HttpResponse:
    """Forget a sheet."""
    row = get_object_or_404(LabelSheet, pk=pk)
    page = ActPage(
        f"Remove {row.name}",
        "Remove",
        ("Labels can no longer be printed for it.", "What was measured is lost."),
        danger=True,
    )
    return act_page(request, page, lambda data: remove_sheet(row), home=reverse("rentals:sheets"))
