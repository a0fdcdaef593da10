"""The two addresses of the interface: its operations, and the page that lists them for people."""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.db import OperationalError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_safe

from rentals.through_locks import is_lock, through_locks

from .problems import BUSY_S, problem_answer

#: Seconds that a question waits for the database when something else holds it.
LONGEST_WAIT_S = 10


@csrf_exempt
@login_not_required
def door(request: HttpRequest, rest: str) -> HttpResponse:
    """Whatever a program asks or sends; its token is its only key."""
    if rest == "openapi.json":
        from .description import description_answer

        return description_answer(request)
    from .api import operation_at

    try:
        if request.method in ("GET", "HEAD"):
            return through_locks(lambda: operation_at(request, rest), longest_s=LONGEST_WAIT_S)
        return operation_at(request, rest)
    except OperationalError as problem:
        if not is_lock(problem):
            raise
        busy = problem_answer(503)
        busy["Retry-After"] = str(BUSY_S)
        return busy


@require_safe
def operations(request: HttpRequest) -> HttpResponse:
    """What programs can do, from the description that they read themselves."""
    from .description import operations_listed

    return render(request, "kitdesk/operations.html", {"groups": operations_listed()})
