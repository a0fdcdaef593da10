"""The description of the interface (OpenAPI), for programs and for the page that people read."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from django.http import HttpRequest, HttpResponse

from rentals.access_keys import SCOPES

from .api import API
from .gate import ROOT
from .problems import problem_answer
from .shapes import ProblemBody, ProblemPlace

_TOKEN = {
    "type": "http",
    "scheme": "bearer",
    "bearerFormat": "kitdesk_ and 38 letters and digits",
    "description": "An access token, made by the owner at Setup, Access tokens.",
}


@lru_cache(maxsize=1)
def description() -> dict[str, Any]:
    """All operations with their parameters, answers, refusals, limits and scopes."""
    made: dict[str, Any] = json.loads(
        json.dumps(API.get_openapi_schema(path_prefix=ROOT), default=str)
    )
    schemas = made["components"]["schemas"]
    reference = "#/components/schemas/{model}"
    problem = ProblemBody.model_json_schema(ref_template=reference)
    problem.pop("$defs")
    schemas["Problem"] = problem
    schemas["ProblemPlace"] = ProblemPlace.model_json_schema(ref_template=reference)
    made["components"]["securitySchemes"] = {"token": _TOKEN}
    for methods in made["paths"].values():
        for facts in methods.values():
            facts["security"] = [{"token": [facts["x-scope"]]}]
            facts["description"] = _in_full(facts)
    return made


def _in_full(facts: dict[str, Any]) -> str:
    """What an operation does, with its scope and its limit."""
    limit = f"Largest body: {facts['x-limit']}." if "x-limit" in facts else ""
    words = facts.get("description", "")
    # The library gives the title for a description that is not there.
    parts = ["" if words == facts["summary"] else words, f"Scope: `{facts['x-scope']}`.", limit]
    return " ".join(filter(None, parts))


def description_answer(request: HttpRequest) -> HttpResponse:
    """The description itself, for anybody: it says nothing of what this desk holds."""
    if request.method not in ("GET", "HEAD"):
        refused = problem_answer(405)
        refused["Allow"] = "GET, HEAD"
        return refused
    return HttpResponse(json.dumps(description()), content_type="application/json")


@dataclass(frozen=True)
class ListedOperation:
    """An operation as the page shows it."""

    method: str
    path: str
    title: str
    words: str
    scope: str
    may: str
    parameters: list[dict[str, str]]
    bodies: list[str]
    answers: list[tuple[str, str]]


def operations_listed() -> list[tuple[str, list[ListedOperation]]]:
    """All operations by what they are about."""
    groups: dict[str, list[ListedOperation]] = {}
    for path, methods in description()["paths"].items():
        for method, facts in methods.items():
            listed = _listed(method, path, facts)
            groups.setdefault(facts["tags"][0], []).append(listed)
    return list(groups.items())


def _listed(method: str, path: str, facts: dict[str, Any]) -> ListedOperation:
    answers = sorted(facts["responses"].items())
    return ListedOperation(
        method=method.upper(),
        path=path,
        title=facts["summary"],
        words=facts["description"].replace("`", ""),
        scope=facts["x-scope"],
        may=SCOPES[facts["x-scope"]],
        parameters=[
            {"name": row["name"], "place": row["in"], "words": row.get("description", "")}
            for row in facts.get("parameters", ())
        ],
        bodies=sorted(facts.get("requestBody", {}).get("content", ())),
        answers=[(status, answer["description"]) for status, answer in answers],
    )
