"""All operations together, and what becomes of whatever they refuse or fail at."""

from __future__ import annotations

import logging
from collections.abc import Iterable

from django.core.exceptions import BadRequest, RequestDataTooBig, SuspiciousOperation
from django.db import OperationalError
from django.http import Http404, HttpRequest, HttpResponse, UnreadablePostError
from django.http.multipartparser import MultiPartParserError
from django.urls import Resolver404, URLResolver
from django.urls.resolvers import RoutePattern
from ninja import NinjaAPI
from ninja.errors import ValidationError

from rentals.disk_full import DISK_FULL, is_disk_full
from rentals.errors import Refused
from rentals.store_away import STORE_AWAY
from rentals.through_locks import is_lock

from . import bench, course, fleet
from .problems import BUSY_S, DoorProblem, problem_answer

log = logging.getLogger(__name__)

API = NinjaAPI(
    title="Kitdesk",
    version="1",
    description=(
        "Kits, captures, rosters and loans of one desk. Each request carries an access token that"
        " the owner has made at Setup, Access tokens; each operation names the scope it needs."
        " Fields may be added; none is renamed or taken away while the address says v1."
    ),
    openapi_url=None,
    docs_url=None,
    urls_namespace="door",
)
for part in (bench.router, fleet.router, course.router):
    API.add_router("", part)
_OPERATIONS = URLResolver(RoutePattern(""), API.urls[0])


def operation_at(request: HttpRequest, rest: str) -> HttpResponse:
    """The answer of the operation at an address below the interface's own."""
    try:
        match = _OPERATIONS.resolve(rest)
    except Resolver404:
        return problem_answer(404)
    answer: HttpResponse = match.func(request, *match.args, **match.kwargs)
    if answer.status_code == 401:
        answer["WWW-Authenticate"] = 'Bearer realm="Kitdesk"'
    return answer


@API.exception_handler(DoorProblem)
def _refused_here(request: HttpRequest, problem: DoorProblem) -> HttpResponse:
    return problem.answer()


@API.exception_handler(Refused)
def _refused_by_an_act(request: HttpRequest, refusal: Refused) -> HttpResponse:
    """What the trade's rules refuse; a busy database, a full disk and a store of files that is away
    are told apart.
    """
    cause = refusal.__cause__
    if cause is not None and is_lock(cause):
        return DoorProblem(503, refusal.sentence, retry_after=BUSY_S).answer()
    if refusal.sentence == STORE_AWAY:
        return DoorProblem(503, refusal.sentence, retry_after=BUSY_S).answer()
    if refusal.sentence == DISK_FULL:
        return problem_answer(507)
    places = [(f"/body/{refusal.field}", refusal.sentence)] if refusal.field else []
    return problem_answer(409, refusal.sentence, places)


@API.exception_handler(Http404)
def _not_there(request: HttpRequest, problem: Http404) -> HttpResponse:
    return problem_answer(404, str(problem))


@API.exception_handler(ValidationError)
def _not_valid(request: HttpRequest, problem: ValidationError) -> HttpResponse:
    places = list(_places(problem.errors))
    sentence = "; ".join(f"{pointer}: {words}" for pointer, words in places[:5])
    return problem_answer(422, f"Correct {sentence}.", places)


def _places(errors: Iterable[dict[str, object]]) -> Iterable[tuple[str, str]]:
    for error in errors:
        steps = [str(step) for step in error.get("loc", ())]  # type: ignore[attr-defined]
        escaped = (step.replace("~", "~0").replace("/", "~1") for step in steps)
        yield "/" + "/".join(escaped), str(error.get("msg", ""))


@API.exception_handler(RequestDataTooBig)
def _too_big(request: HttpRequest, problem: RequestDataTooBig) -> HttpResponse:
    return problem_answer(413)


@API.exception_handler(MultiPartParserError)
@API.exception_handler(BadRequest)
@API.exception_handler(SuspiciousOperation)
@API.exception_handler(UnreadablePostError)
def _not_readable(request: HttpRequest, problem: Exception) -> HttpResponse:
    return problem_answer(400)


@API.exception_handler(OperationalError)
def _locked(request: HttpRequest, problem: OperationalError) -> HttpResponse:
    """On to the front, which tries a question again."""
    raise problem


@API.exception_handler(Exception)
def _failed(request: HttpRequest, problem: Exception) -> HttpResponse:
    if is_disk_full(problem):
        return problem_answer(507)
    log.error("An operation of the interface failed.", exc_info=problem)
    return problem_answer(500)
