"""Tables to download and fill in: they hold the headings that the desk knows, and no row."""

from __future__ import annotations

from django.http import HttpResponse
from django.views.decorators.http import require_safe

from rentals.roster.columns import TEMPLATE
from rentals.roster.fleet_words import FLEET_FIELDS
from rentals.selectors.export import export_rows
from rentals.web.request import DeskRequest
from rentals.web.table_file import format_or_404


@require_safe
def roster(request: DeskRequest, form: str) -> HttpResponse:
    """An empty roster, as a CSV or XLSX file."""
    return _empty_table("roster", TEMPLATE, form)


@require_safe
def fleet(request: DeskRequest, form: str) -> HttpResponse:
    """An empty table of a fleet, as a CSV or XLSX file."""
    return _empty_table("fleet", tuple(FLEET_FIELDS.values()), form)


def _empty_table(name: str, heads: tuple[str, ...], form: str) -> HttpResponse:
    chosen = format_or_404(form)
    answer = HttpResponse(export_rows(heads, (), chosen), content_type=chosen.content_type)
    answer["Content-Disposition"] = f'attachment; filename="{name}.{form}"'
    return answer
