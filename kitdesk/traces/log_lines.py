"""One line of the log for each request and for each task: what it was, how it ended, how long it
took. No path, no query and no name: the name of the address says which page it was.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django_tasks_db.models import DBTaskResult

from .request_ids import HEADER, KEY, carrying, id_of

requests = logging.getLogger("kitdesk.request")
tasks = logging.getLogger("kitdesk.task")


class RequestLineMiddleware:
    """Gives each request its number and writes its line; the outermost of all."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        began = time.perf_counter()
        request_id = id_of(request)
        with carrying(request_id):
            response = self.get_response(request)
            response[HEADER] = request_id
            _tell(request, response, time.perf_counter() - began)
        return response


def _tell(request: HttpRequest, response: HttpResponse, seconds: float) -> None:
    method, route, status = _method(request), route_of(request), response.status_code
    facts = {
        "method": method,
        "route": route,
        "status": status,
        "duration_ms": _in_ms(seconds),
        "user": _user(request),
        "bytes": _length(response),
    }
    requests.info("%s %s %s", method, route, status, extra={"facts": facts})
    if settings.KITDESK_METRICS:
        from .meters import count_request

        count_request(route, status, seconds)


@contextmanager
def task_line(row: DBTaskResult) -> Iterator[None]:
    """Write the line of the task that is done inside; all lines inside carry its request's
    number.
    """
    began = time.perf_counter()
    with carrying(row.args_kwargs.get(KEY, "")):
        yield
        seconds = time.perf_counter() - began
        name = row.task_path.rpartition(".")[2]
        outcome = str(row.status).lower()
        facts: dict[str, object] = {
            "task": name,
            "task_id": str(row.pk),
            "duration_ms": _in_ms(seconds),
            "outcome": outcome,
        }
        level = logging.INFO
        if row.exception_class_path:
            level = logging.ERROR
            facts |= {"exception": row.exception_class_path, "where": _places(row.traceback)}
        tasks.log(level, "%s %s", name, outcome, extra={"facts": facts})
        if settings.KITDESK_METRICS:
            from .meters import count_task

            count_task(name, outcome, seconds)


def route_of(request: HttpRequest) -> str:
    """The name of the address, of which there are as many as pages."""
    match = request.resolver_match
    if match is not None:
        return match.view_name or "unnamed"
    is_file = request.path_info.startswith(f"/{settings.STATIC_URL.strip('/')}/")
    return "static" if is_file else "none"


def _method(request: HttpRequest) -> str:
    # A method is a word of the visitor's own; the usual ones are told, others are not.
    usual = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS")
    return request.method if request.method in usual else "another"


def _user(request: HttpRequest) -> int | None:
    """The number of whoever is signed in, where the page had to know; it costs no query."""
    return getattr(getattr(request, "_cached_user", None), "pk", None)


def _length(response: HttpResponse) -> int | None:
    if not response.streaming:
        return len(response.content)
    stated = response.headers.get("Content-Length", "")
    return int(stated) if stated.isdecimal() else None


def _in_ms(seconds: float) -> float:
    return round(seconds * 1000, 1)


def _places(traceback: str) -> list[str]:
    """Where a task failed: files, lines and functions. The failure's own words may name people."""
    lines = (line.strip() for line in traceback.splitlines())
    return [line for line in lines if line.startswith('File "') and ", line " in line]
