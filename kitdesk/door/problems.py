"""Refusals of the interface: problem details (RFC 9457) in JSON, with a sentence that says what is
wrong, where, and what to do.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from http import HTTPStatus

from django.http import HttpResponse

MEDIA_TYPE = "application/problem+json"
#: Seconds after which a busy desk is asked again.
BUSY_S = 5

_SENTENCES = {
    400: "The request cannot be read. Compare it with the description at /api/v1/openapi.json.",
    404: "There is nothing at this address. The description at /api/v1/openapi.json lists all.",
    405: "This address does not take this method. The header Allow names those that it takes.",
    413: "The body is larger than this operation takes. Its limit stands in the description.",
    500: "The desk has failed at this request, and its log says where. Tell its owner.",
    503: "The desk is busy: something else holds its data. Send the same request again later.",
    507: "The disk of the desk is full, so nothing was kept. Tell its owner.",
}


class DoorProblem(Exception):
    """A request of another program that is refused.

    Parameters
    ----------
    status : int
        The HTTP status.
    sentence : str
        What is wrong and what to do.
    pointer : str
        Where, as a JSON pointer: ``/query/kit``, ``/body/rows/3/email``; empty for the whole.
    retry_after : int
        Seconds after which to try again; 0 for never.
    places : iterable of pairs of str
        Further pointers, each with what is wrong there.
    """

    def __init__(
        self,
        status: int,
        sentence: str,
        *,
        pointer: str = "",
        retry_after: int = 0,
        places: Iterable[tuple[str, str]] = (),
    ) -> None:
        super().__init__(sentence)
        self.status = status
        self.sentence = sentence
        self.pointer = pointer
        self.retry_after = retry_after
        self.places = list(places)

    def answer(self) -> HttpResponse:
        """The answer that says so."""
        own = [(self.pointer, self.sentence)] if self.pointer else []
        response = problem_answer(self.status, self.sentence, [*own, *self.places])
        if self.retry_after:
            response["Retry-After"] = str(self.retry_after)
        return response


def problem_answer(
    status: int, sentence: str = "", places: Iterable[tuple[str, str]] = ()
) -> HttpResponse:
    """A problem in JSON; `places` are pointers with what is wrong there."""
    body = problem_body(status, sentence, places)
    return HttpResponse(body, status=status, content_type=MEDIA_TYPE)


def problem_body(status: int, sentence: str = "", places: Iterable[tuple[str, str]] = ()) -> str:
    """The JSON of a problem; without a sentence the usual one of its status."""
    body = {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": sentence or _SENTENCES.get(status, f"{HTTPStatus(status).phrase}."),
        "errors": [{"pointer": pointer, "detail": words} for pointer, words in places],
    }
    return json.dumps(body)


def as_problem(response: HttpResponse) -> HttpResponse:
    """A refusal of the desk's frame (a page for people) as a problem; what is none stays."""
    if response.status_code < 400 or response.headers.get("Content-Type") == MEDIA_TYPE:
        return response
    problem = problem_answer(response.status_code)
    for name in ("Allow", "Retry-After"):
        if name in response.headers:
            problem[name] = response[name]
    return problem
