"""Finding the thing an address names, or saying that it is not there; and cutting lists into
pages.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from django.core.paginator import Page
from django.db.models import QuerySet
from django.http import Http404, HttpRequest

from rentals.codes import parse_code
from rentals.models import Kit, Part

from .list_pages import ListPages

PER_PAGE = 50


def code_or_404(code: str) -> str:
    """A code as it is stored, however it was typed."""
    try:
        return parse_code(code)
    except ValueError as unreadable:
        raise Http404(str(unreadable)) from unreadable


def kit_or_404(code: str) -> Kit:
    """The kit with a code, however it was typed."""
    kit = Kit.objects.select_related("kit_type").filter(code=code_or_404(code)).first()
    if kit is None:
        raise Http404(f"There is no kit {code}.")
    return kit


def part_or_404(code: str) -> Part:
    """The part with a code, however it was typed."""
    part = Part.objects.select_related("kit").filter(code=code_or_404(code)).first()
    if part is None:
        raise Http404(f"There is no part {code}.")
    return part


def page_of(
    request: HttpRequest,
    rows: QuerySet[Any] | Sequence[Any],
    per_page: int = PER_PAGE,
    rows_of: Callable[[list[int]], list[Any]] | None = None,
) -> Page[Any]:
    """The page of a list that the address asks for; a wrong number gives the nearest. `rows_of`
    reads the rows of a page by their numbers, with what is shown of them.
    """
    pages = ListPages(rows, per_page)
    pages.rows_of = rows_of
    return pages.get_page(request.GET.get("page"))
