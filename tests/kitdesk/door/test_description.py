"""The description is true: whatever it allows or forbids is sent, and each answer held against it.

A few requests by day, many by night.
"""

from __future__ import annotations

import json
from datetime import timedelta
from typing import Any

import pytest
import requests
import schemathesis
from django.test import Client
from hypothesis import HealthCheck, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from schemathesis import GenerationMode
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    negative_data_rejection,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)
from urllib3.response import HTTPResponse

from kitdesk.door.description import description, operations_listed
from readiness.models import Capture
from rentals.access_keys import SCOPES
from rentals.models import CourseRun
from tests.factories import assigned_loan
from tests.kitdesk.door.calls import Program
from tests.readiness.captures import capture_bytes

pytestmark = [pytest.mark.django_db, pytest.mark.slow]

CHECKS = [
    schemathesis.checks.not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    negative_data_rejection,
]


def _rows() -> dict[str, Any]:
    """A desk with a kit on a loan and a capture; their numbers for the addresses."""
    loan = assigned_loan()
    program = Program("Sender", "captures:write")
    program.send("captures?name=a.csv", capture_bytes("still", kit=loan.kit.code))
    return {
        "code": loan.kit.code,
        "run": CourseRun.objects.get().pk,
        "capture": Capture.objects.get().pk,
    }


def _try(examples: int) -> int:
    """Send so many requests of each operation; how many were sent."""
    rows, sent = _rows(), 0
    schema = schemathesis.openapi.from_dict(_without_security())
    tokens = {scope: Program(scope, scope, "students:read") for scope in SCOPES}
    for result in schema.get_all_operations():
        operation = result.ok()
        places = _places(operation.path, rows)
        program = tokens[operation.definition.raw["x-scope"]]
        modes = [
            operation.as_strategy(mode, **given_places)
            for mode in GenerationMode
            for given_places in ({"path_parameters": places}, {})
        ]

        sent += _ask(program, st.one_of(modes), examples)
    return sent


def _without_security() -> dict[str, Any]:
    """The description, with the tokens left to the test: it sends right ones."""
    copy = json.loads(json.dumps(description()))
    for methods in copy["paths"].values():
        for facts in methods.values():
            del facts["security"]
    return copy


def _ask(program: Program, cases: st.SearchStrategy, examples: int) -> int:
    sent = 0

    @hypothesis_settings(
        max_examples=examples,
        deadline=None,
        database=None,
        derandomize=True,
        suppress_health_check=list(HealthCheck),
    )
    @given(cases)
    def ask(case: schemathesis.Case) -> None:
        nonlocal sent
        sent += 1
        case.validate_response(_answer(case, program), checks=CHECKS)

    ask()
    return sent


def _answer(case: schemathesis.Case, program: Program) -> requests.Response:
    """What the desk says to a case, in process, in the shape that the library holds against it."""
    facts = case.as_transport_kwargs(base_url="http://testserver", headers=program.headers())
    asked = requests.Request(**facts).prepare()
    body = asked.body if asked.body is not None else b""
    headers = {name: _text(value) for name, value in asked.headers.items()}
    said = program.client.generic(
        asked.method,
        asked.path_url,
        body.encode() if isinstance(body, str) else body,
        content_type=headers.get("Content-Type", ""),
        headers=headers,
    )
    answer = requests.Response()
    answer.status_code, answer._content, answer.request = said.status_code, said.content, asked
    answer.url, answer.reason = asked.url, said.reason_phrase
    answer.headers.update(said.headers)
    answer.raw = HTTPResponse(body=said.content, headers=said.headers, status=said.status_code)
    answer.elapsed = timedelta(0)
    return answer


def _text(value: str | bytes) -> str:
    return value.decode("latin-1") if isinstance(value, bytes) else value


def _places(path: str, rows: dict[str, Any]) -> dict[str, Any]:
    if "{code}" in path:
        return {"code": rows["code"]}
    if "{pk}" in path:
        return {"pk": rows["run" if "/runs/" in path else "capture"]}
    return {}


def test_some_requests_of_each_operation_are_answered_as_described(settings):
    # Captures are taken in and not scored: that is tried by night.
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}}
    assert _try(examples=2) >= 2 * 11


@pytest.mark.night
def test_many_requests_of_each_operation_are_answered_as_described():
    assert _try(examples=120) >= 1000


@pytest.mark.any_database
def test_the_description_is_whole_and_for_everybody():
    answer = Client().get("/api/v1/openapi.json")
    assert answer.headers["Content-Type"] == "application/json"
    assert json.loads(answer.content) == description()
    text = json.dumps(description())
    for reference in set(json.loads(f"[{','.join(_references(text))}]")):
        assert reference in description()["components"]["schemas"]
    listed = [row for _, rows in operations_listed() for row in rows]
    assert {row.scope for row in listed} == set(SCOPES) - {"students:read"}
    for methods in description()["paths"].values():
        for facts in methods.values():
            assert facts["summary"] and "Scope: `" in facts["description"]
            assert {"401", "403", "422", "429", "503"} <= set(facts["responses"])
    post = description()["paths"]["/api/v1/runs/{pk}/roster"]["post"]
    assert all("example" in body for body in post["requestBody"]["content"].values())


def _references(text: str) -> list[str]:
    return [
        '"' + piece.partition('"')[0] + '"' for piece in text.split("#/components/schemas/")[1:]
    ]
