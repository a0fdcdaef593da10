"""What programs send that no program should: an answer with a sentence, and never a failure."""

from __future__ import annotations

import json
import random
from collections.abc import Iterator

import pytest

from kitdesk.door.description import description
from rentals.models import Kit, Student
from tests.factories import CourseRunFactory, assigned_loan
from tests.kitdesk.door.calls import Program
from tests.kitdesk.door.test_walk import _operations

# By day schemathesis asks each operation for something like it.
pytestmark = [pytest.mark.django_db, pytest.mark.slow]
LONG = "x" * 65_536
#: Each as it stands in JSON, so that also what no text can hold is sent.
TEXTS = (
    r'"\u0000"',
    r'"\ud800"',
    r'"a\udfffb"',
    f'"{LONG}"',
    '"=1+1"',
    '"a\\r\\nBcc: b@c.example"',
    "null",
    "true",
    "1e400",
    "NaN",
    "-0",
    str(2**63),
    str(10**400),
    "[]",
    "{}",
    '{"__proto__": 1}',
    "[" * 40 + "]" * 40,
)
BODIES = (
    "",
    "null",
    "[]",
    "0",
    '"x"',
    "{",
    "\ufeff{}",
    "[" * 100_000,
    '{"rows":' * 50_000,
    '{"rows": 1}',
    '{"rows": [1]}',
    '{"rows": [[]]}',
    '{"rows": [null]}',
    '{"rows": {}}',
    '{"rows": [], "rows": [{}]}',
    '{"rows": [{"name": "A", "pk": 1, "erased_at": "2020-01-01"}]}',
    '{"rows": [{}], "run": 99, "by": 1}',
)
KINDS = (
    "application/json",
    "application/json; charset=utf-7",
    "application/json; charset=nonsense",
    "text/csv; charset=utf-16",
    "text/csv",
    "multipart/form-data",
    "multipart/form-data; boundary=",
    "multipart/form-data; boundary=" + "b" * 5000,
    "",
    "json",
    "application/xml",
    "a/b" * 9000,
)
QUERIES = (
    "cursor=%00",
    "cursor=" + "9" * 4000,
    "cursor=%ff",
    f"limit={2**63}",
    "limit=-1",
    "limit=1e9",
    "cursor=1&cursor=2",
    "limit=1&limit=2",
    "yes=" + "y" * 5000,
    "kit=%00",
    "kit=" + LONG[:3000],
    "sha256=%00",
    "saved_at=9999-99-99",
    "saved_at=0001-01-01T00:00:00-23:59",
    "saved_at=9999-12-31T23:59:59%2B00:01",
    "test[]=1",
    "dry_run=%00",
    "name=..%2f..%2fetc",
    "name=%0d%0aX:1",
    "__proto__=1",
    "state=%00",
)
HEADERS = (
    {"Idempotency-Key": LONG[:60_000]},
    {"Idempotency-Key": "\x00"},
    {"Idempotency-Key": "é"},
    {"Accept": "x" * 9000},
    {"X-Forwarded-For": "\x00, ::::"},
    {"Content-Encoding": "gzip"},
    {"Authorization": "Bearer \x00"},
    {"Authorization": "Bearer é" * 9},
    {"Authorization": "Bearer"},
    {"X-HTTP-Method-Override": "DELETE"},
    {"Range": "bytes=9-1"},
    {"Accept-Language": "\x00"},
)
NUMBERS = ("0", "-1", str(2**31), str(2**63), "9" * 400, "1%00", "x", "%2e%2e", "１")


@pytest.fixture
def program() -> Program:
    assigned_loan()
    return Program()


def _is_answered(answer, what: str) -> None:
    assert answer.status_code < 500, f"{answer.status_code} to {what[:200]}"
    if answer.status_code >= 400:
        assert answer.headers["Content-Type"] == "application/problem+json", what[:200]
        assert answer.json()["detail"]


def _asked(program: Program, method: str, place: str, body: bytes = b"", **more: str):
    kind = more.pop("kind", "application/json")
    heads = program.headers() | {name.replace("_", "-"): value for name, value in more.items()}
    return program.client.generic(method, place, body, content_type=kind, headers=heads)


@pytest.mark.night
def test_queries_numbers_and_headers_of_every_operation(program):
    for method, path, _ in _operations():
        for query in QUERIES:
            _is_answered(_asked(program, method, f"{path}?{query}"), f"{method} {path}?{query}")
        for number in NUMBERS:
            place = path.replace("/1", f"/{number}")
            _is_answered(_asked(program, method, place), f"{method} {place}")
        for heads in HEADERS:
            answer = _asked(program, method, path, b"{}", **heads)
            _is_answered(answer, f"{method} {path} {heads}")


@pytest.mark.night
def test_bodies_of_every_kind(program):
    draws, run = random.Random(5), CourseRunFactory()
    places = (f"/api/v1/runs/{run.pk}/roster", "/api/v1/captures?name=a.csv")
    for place in places:
        for body in BODIES:
            for kind in ("application/json", draws.choice(KINDS)):
                answer = _asked(program, "POST", place, body.encode(), kind=kind)
                _is_answered(answer, f"{place} {kind} {body}")
        for kind in KINDS:
            answer = _asked(program, "POST", place, b"\xff\xfe\x00{", kind=kind)
            _is_answered(answer, f"{place} {kind}")
    assert Kit.objects.count() == 1


@pytest.mark.parametrize("dry", ["true", pytest.param("false", marks=pytest.mark.night)])
def test_texts_in_a_roster_are_taken_whole_or_refused(program, dry):
    run = CourseRunFactory()
    before = Student.objects.count()
    for row in _rows():
        place = f"/api/v1/runs/{run.pk}/roster?dry_run={dry}"
        _is_answered(_asked(program, "POST", place, row.encode()), row)
    names = list(Student.objects.values_list("name", flat=True))
    assert len(names) >= before and all(name and "\x00" not in name for name in names)


def _rows() -> Iterator[str]:
    for number, text in enumerate(TEXTS):
        good = {"name": '"Mia Lund"', "email": f'"mia{number}@strings.example"', "city": '"Town"'}
        for field in good:
            facts = good | {field: text}
            inner = ", ".join(f'"{name}": {value}' for name, value in facts.items())
            yield f'{{"rows": [{{{inner}}}]}}'
        yield f'{{"rows": [{{{text if text.startswith(chr(34)) else chr(34) * 2}: "x"}}]}}'


def test_a_program_sets_no_fact_that_no_operation_names(program):
    """Mass assignment: what a row or a query says beside the known is refused, not kept."""
    run = CourseRunFactory()
    row = {"name": "Mia Lund", "email": "mia@strings.example", "id": 1, "erased_at": "2020-01-01"}
    answer = _asked(
        program, "POST", f"/api/v1/runs/{run.pk}/roster", json.dumps({"rows": [row]}).encode()
    )
    assert answer.status_code == 422
    assert not Student.objects.filter(email="mia@strings.example").exists()
    assert set(description()["paths"])
    answer = _asked(program, "POST", "/api/v1/captures?status=scored&cleared=1", b"1,2")
    assert answer.status_code == 422 and "/query/status" in str(answer.json())


def test_a_parameter_that_comes_twice_is_refused_where_it_is_no_list(program):
    twice = program.client.get("/api/v1/kits?limit=1&limit=2", headers=program.headers())
    assert twice.status_code == 422 and "came twice" in twice.json()["detail"]
    place = f"/api/v1/runs/{CourseRunFactory().pk}/roster?dry_run=true&yes=a&yes=b"
    answer = _asked(program, "POST", place, b"name,email\nMia Lund,mia@strings.example\n")
    assert "came twice" not in str(answer.json())
