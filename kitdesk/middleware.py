"""Middleware of the project."""

from collections.abc import Callable
from http import HTTPStatus

from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import reverse

from kitdesk.owner import owner_exists
from kitdesk.views.errors import busy, page_not_found, store_is_away
from rentals.store_away import store_away
from rentals.through_locks import is_lock


class FirstRunMiddleware:
    """Sends every visitor of a desk without accounts to the first-run page.

    Only a page that asks for sign-in is looked at, and only a visitor who is not signed in costs a
    query.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(
        self,
        request: HttpRequest,
        view: Callable[..., HttpResponse],
        args: tuple[object, ...],
        kwargs: dict[str, str],
    ) -> HttpResponse | None:
        """Redirect to the first-run page, or None to go on."""
        asks_for_sign_in = getattr(view, "login_required", True) or request.path == reverse(
            "account_login"
        )
        if not asks_for_sign_in or request.user.is_authenticated or owner_exists():
            return None
        return redirect("first_run")


class NoNulMiddleware:
    """Answers an address with a NUL character in it: no such page, or, in a filter, nothing.

    No database takes a NUL into a text, and no label, name or number has one. Forms refuse it
    themselves, in words.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if "\x00" in request.path_info:
            return page_not_found(request, Http404("No address has a NUL character in it."))
        if "%00" in request.META.get("QUERY_STRING", ""):
            query = request.GET.copy()
            for name, values in list(query.lists()):
                query.setlist(name, [value.replace("\x00", "") for value in values])
            request.GET = QueryDict(query.urlencode())
        return self.get_response(request)


class NotKeptMiddleware:
    """Tells browsers and proxies to keep nothing of what the desk answers: after signing out the
    way back shows nothing. What sets a rule of its own (the calendar, health) is left as it is;
    static files never come by here.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        response.headers.setdefault("Cache-Control", "no-store")
        return response


class ScriptedFormMiddleware:
    """Says in a header where a redirect leads, for a form that the page's own script has sent.

    A script cannot see that itself: the browser would follow the redirect unasked, and use up what
    the next page has to say.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if "Kitdesk-Script" in request.headers and response.has_header("Location"):
            response.status_code = HTTPStatus.NO_CONTENT
            response["Kitdesk-Goes-To"] = response["Location"]
            del response["Location"]
        return response


class BusyMiddleware:
    """Answers what a lock of the database, or a store of files that is away, has stopped with a
    sentence, not with a failure.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, problem: Exception) -> HttpResponse | None:
        """The page for a busy desk, or None for whatever else went wrong."""
        if store_away(problem):
            return store_is_away(request)
        return busy(request) if is_lock(problem) else None
