"""What lies around every request of another program: no cookie in, none out, no page for people."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from .problems import as_problem

ROOT = "/api/v1/"


class DoorMiddleware:
    """Keeps sessions and tokens apart: a token opens no page, and a session no operation."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if not request.path_info.startswith(ROOT):
            return self.get_response(request)
        request.META.pop("HTTP_COOKIE", None)
        response = as_problem(self.get_response(request))
        response.cookies.clear()
        response.headers.pop("Vary", None)
        response["Cache-Control"] = "no-store"
        return response
