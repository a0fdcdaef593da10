"""How an operation is declared: its scope, its answers, and what it refuses."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from http import HTTPStatus
from inspect import signature
from typing import Any

from ninja import Router

from .problems import MEDIA_TYPE
from .tokens import ScopedToken

#: What every operation may answer instead.
ALWAYS = (400, 401, 403, 422, 429, 500, 503)
#: The same for those that take a body.
WITH_BODY = (409, 413, 415, 507)


def operation(
    router: Router,
    method: str,
    path: str,
    *,
    scope: str,
    answers: Mapping[int, Any],
    refuses: tuple[int, ...] = (),
    body: Mapping[str, Any] | None = None,
    limit: str = "",
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Declare a function as an operation, described by its docstring.

    Parameters
    ----------
    refuses : tuple of int
        Statuses beside those of every operation.
    body : mapping, optional
        The content types it reads itself, as OpenAPI describes them.
    limit : str
        The largest body, in words.
    """
    statuses = {*ALWAYS, *refuses, *(WITH_BODY if method == "POST" else ())}
    extra: dict[str, Any] = {
        "responses": {status: _refusal(status) for status in sorted(statuses)},
        "x-scope": scope,
    }
    if limit:
        extra["x-limit"] = limit
    if body is not None:
        extra["requestBody"] = {"required": True, "content": dict(body)}

    def declare(view: Callable[..., Any]) -> Callable[..., Any]:
        known = signature(view).parameters
        lists = frozenset(name for name, one in known.items() if isinstance(one.default, list))
        summary, _, rest = (view.__doc__ or "").strip().partition("\n\n")
        return router.api_operation(
            [method],
            path,
            auth=ScopedToken(scope, frozenset(known), lists),
            response=dict(answers),
            operation_id=view.__name__,
            summary=" ".join(summary.split()).rstrip("."),
            description=" ".join(rest.split()) or None,
            openapi_extra=extra,
        )(view)

    return declare


def _refusal(status: int) -> dict[str, Any]:
    details: dict[str, Any] = {
        "description": HTTPStatus(status).phrase,
        "content": {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}},
    }
    if status == 401:
        details["headers"] = {"WWW-Authenticate": {"schema": {"type": "string"}}}
    if status in (429, 503):
        details["headers"] = {"Retry-After": {"schema": {"type": "integer"}}}
    return details
