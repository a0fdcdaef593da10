"""A whole page, or the one part of it that htmx asked for; and a page shown again because what was
sent is not taken.
"""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils.cache import patch_vary_headers
from django_htmx.http import HttpResponseClientRedirect

from .request import DeskRequest

_SHOWN, _REFUSED = 200, 422


def wants_part(request: DeskRequest) -> bool:
    """Whether htmx asked for a part; a page restored from the browser's history is asked for
    whole.
    """
    return bool(request.htmx) and not request.htmx.history_restore_request


def page_or_part(
    request: DeskRequest, page: str, part: str, context: dict[str, Any], *, refused: bool = False
) -> HttpResponse:
    """Render the template `part` for htmx and `page` otherwise, told apart in caches; `refused` as
    in `page_again`.
    """
    template = part if wants_part(request) else page
    return vary_by_htmx(page_again(request, template, context, refused=refused))


def page_again(
    request: HttpRequest, template: str, context: dict[str, Any], *, refused: bool = True
) -> HttpResponse:
    """Render a page that holds forms; where one of them was sent and is `refused`, the status says
    so (422), and the page holds what was typed.
    """
    return render(request, template, context, status=_REFUSED if refused else _SHOWN)


def vary_by_htmx(response: HttpResponse) -> HttpResponse:
    """Say to caches that this address answers htmx otherwise than a browser."""
    patch_vary_headers(response, ["HX-Request"])
    return response


def go_to(request: DeskRequest, address: str) -> HttpResponse:
    """Lead the browser to a page, also where htmx asked and would put that page into a part."""
    if request.htmx:
        return HttpResponseClientRedirect(address)
    return HttpResponseRedirect(address)
