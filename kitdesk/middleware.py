"""Middleware of the project."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from kitdesk.owner import owner_exists


class FirstRunMiddleware:
    """Sends every visitor of a desk without accounts to the first-run page.

    Only a page that asks for sign-in is looked at, and only a visitor who is not signed in costs a query.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Callable[..., HttpResponse], args: tuple[object, ...], kwargs: dict[str, str]
    ) -> HttpResponse | None:
        """Redirect to the first-run page, or None to go on."""
        asks_for_sign_in = getattr(view, "login_required", True) or request.path == reverse("account_login")
        if not asks_for_sign_in or request.user.is_authenticated or owner_exists():
            return None
        return redirect("first_run")
