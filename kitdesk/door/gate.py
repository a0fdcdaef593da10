"""What lies around every request of another program: no cookie in, none out, no page for people."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from .problems import as_problem, problem_answer

ROOT = "/api/v1/"
PLAIN = (
    "Call this interface by https://. What came over http:// could be read on its way: if a token"
    " was in it, have the owner of the desk revoke it and make another."
)


class DoorMiddleware:
    """Keeps sessions and tokens apart: a token opens no page, and a session no operation."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if not request.path_info.startswith(ROOT):
            return self.get_response(request)
        request.META.pop("HTTP_COOKIE", None)
        if settings.SECURE_SSL_REDIRECT and not request.is_secure():
            # A program that is led on goes on sending its token where others read along.
            response: HttpResponse = problem_answer(403, PLAIN)
        else:
            response = as_problem(self.get_response(request))
        response.cookies.clear()
        response.headers.pop("Vary", None)
        response["Cache-Control"] = "no-store"
        return response
