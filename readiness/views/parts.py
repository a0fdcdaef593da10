"""A page, or the one part of it that htmx asked for."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.cache import patch_vary_headers


def wants_part(request: HttpRequest) -> bool:
    """Whether htmx asked for a part; a page restored from the browser's history is asked for
    whole.
    """
    return (
        request.headers.get("HX-Request") == "true"
        and request.headers.get("HX-History-Restore-Request") != "true"
    )


def page_or_part(
    request: HttpRequest, page: str, part: str, context: dict[str, Any], *, status: int = 200
) -> HttpResponse:
    """Render `part` for htmx and `page` otherwise, told apart in caches."""
    response = render(request, part if wants_part(request) else page, context, status=status)
    patch_vary_headers(response, ["HX-Request"])
    return response
