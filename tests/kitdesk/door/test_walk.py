"""Every operation asks for a token with its scope before it looks at anything else."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from kitdesk.door.description import description
from rentals.access_keys import SCOPES, new_key
from rentals.actions.access_tokens import make_access_token, revoke_access_token
from rentals.models import AccessToken
from tests.kitdesk.door.calls import Program

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]

TOO_LARGE = {"Content-Length": str(10**9), "Content-Type": "nonsense/nonsense"}


def _operations() -> Iterator[tuple[str, str, str]]:
    for path, methods in description()["paths"].items():
        for method, facts in methods.items():
            yield method.upper(), re.sub(r"{\w+}", "1", path), facts["x-scope"]


def _asked(method: str, path: str, key: str | None):
    headers = {} if key is None else {"Authorization": f"Bearer {key}"}
    return Client().generic(method, path, b"{", headers=headers | TOO_LARGE)


def _keys() -> dict[str, tuple[str | None, int]]:
    now = timezone.now()
    yesterday = timezone.localdate() - timedelta(days=1)
    expired = make_access_token("Expired", SCOPES, expires_on=yesterday, at=now - timedelta(days=9))
    revoked = make_access_token("Revoked", SCOPES)
    revoke_access_token(AccessToken.objects.get(name="Revoked"))
    return {
        "none": (None, 401),
        "unknown": (new_key(), 401),
        "mistyped": (expired[:-1] + "!", 401),
        "expired": (expired, 401),
        "revoked": (revoked, 401),
    }


def test_each_operation_refuses_who_has_no_right_token_before_it_looks_at_the_body(clean_cache):
    keys = _keys()
    for scope in SCOPES:
        others = [name for name in SCOPES if name != scope]
        keys[f"all but {scope}"] = (make_access_token(f"All but {scope}", others), 403)
    count = 0
    for method, path, scope in _operations():
        for name, (key, status) in keys.items():
            if name.startswith("all but") and name != f"all but {scope}":
                continue
            answer = _asked(method, path, key)
            assert answer.status_code == status, f"{method} {path} with token {name}"
            assert answer.headers["Content-Type"] == "application/problem+json"
            assert ("WWW-Authenticate" in answer.headers) == (status == 401)
            count += 1
    assert count >= 6 * 9


def test_a_session_is_no_token_and_a_token_no_session(signed_in):
    assert signed_in.get("/api/v1/kits").status_code == 401
    program = Program()
    answer = program.get("kits")
    assert answer.status_code == 200
    assert answer.headers["Cache-Control"] == "no-store"
    assert not answer.cookies and "Vary" not in answer.headers
    assert Client().get("/kits/", headers=program.headers()).status_code == 302
    # No form key of a page is needed, as there is no cookie that a browser would send along.
    strict = Client(enforce_csrf_checks=True)
    sent = strict.post("/api/v1/captures", b"", "text/csv", headers=program.headers())
    assert sent.status_code == 422


def test_wrong_tokens_are_slowed_down_and_right_ones_are_let_in_all_the_same(clean_cache):
    program = Program()
    answers = [_asked("GET", "/api/v1/kits", new_key()) for _ in range(41)]
    assert [answer.status_code for answer in answers] == [401] * 40 + [429]
    assert int(answers[-1].headers["Retry-After"]) > 0
    assert program.get("kits").status_code == 200


def test_a_line_that_others_read_is_refused_and_not_led_on(settings):
    settings.SECURE_SSL_REDIRECT = True
    program = Program()
    plain = program.get("kits")
    assert plain.status_code == 403 and "by https://" in plain.json()["detail"]
    assert "Location" not in plain.headers
    secure = program.client.get("/api/v1/kits", headers=program.headers(), secure=True)
    assert secure.status_code == 200
    assert Client().get("/kits/").headers["Location"].startswith("https://")


def test_what_is_no_operation_answers_a_problem_too():
    program = Program()
    for answer, status in (
        (program.get("nothing/here"), 404),
        (program.get(""), 404),
        (Client().delete("/api/v1/kits", headers=program.headers()), 405),
        (Client().post("/api/v1/openapi.json"), 405),
        (Client().get("/api/v1/kits", headers={"Host": "elsewhere.example"}), 400),
    ):
        assert answer.status_code == status
        assert answer.headers["Content-Type"] == "application/problem+json"
        assert answer.json()["status"] == status and answer.json()["detail"]
