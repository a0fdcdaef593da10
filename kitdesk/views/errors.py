"""Error pages in plain words. They touch neither database nor session, so they also work when those
do not.
"""

import sys
from http import HTTPStatus

from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string

from kitdesk.traces.request_ids import current_request_id
from rentals.disk_full import is_disk_full


def _page(name: str, status: int, **facts: object) -> HttpResponse:
    return HttpResponse(render_to_string(name, facts), status=status)


def bad_request(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return _page("400.html", 400)


def permission_denied(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Who may, and what the account is, where the table of rules has refused."""
    who_may = getattr(exception, "who_may", "owner")
    return _page("403.html", 403, who_may=who_may, held=getattr(exception, "held", ""))


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    return _page("403_csrf.html", 403)


def page_not_found(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return _page("404.html", 404, sentence=getattr(exception, "sentence", ""))


def busy(request: HttpRequest) -> HttpResponse:
    """Somebody else's lock was in the way of everything that was tried."""
    response = _page("503.html", 503)
    response["Retry-After"] = "5"
    return response


def store_is_away(request: HttpRequest) -> HttpResponse:
    """What a page needs lies in a store that does not answer."""
    response = _page("503_files.html", HTTPStatus.SERVICE_UNAVAILABLE)
    response["Retry-After"] = "30"
    return response


def server_error(request: HttpRequest) -> HttpResponse:
    """What nobody has foreseen; a full disk is told apart, for that can be mended."""
    if is_disk_full(sys.exc_info()[1]):
        return _page("507.html", HTTPStatus.INSUFFICIENT_STORAGE)
    return _page("500.html", 500, request_id=current_request_id())
