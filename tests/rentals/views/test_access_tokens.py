"""The owner's page of access tokens: made, shown once, revoked; nothing typed is lost."""

from __future__ import annotations

import re
import uuid

import pytest
from django.test import Client

from rentals.access_keys import is_key
from rentals.actions.access_tokens import make_access_token
from rentals.models import AccessToken
from tests.kitdesk.door.calls import Program

pytestmark = pytest.mark.django_db


def _text(answer) -> str:
    return answer.content.decode()


def test_a_token_is_shown_once_and_opens_until_it_is_revoked(signed_in):
    form = {"name": "Course site", "scopes": ["kits:read", "loans:read"], "expires_on": ""}
    form["form_key"] = str(uuid.uuid4())
    shown = _text(signed_in.post("/setup/tokens/", form))
    [key] = set(re.findall(r"kitdesk_[0-9A-Za-z]+", shown))
    assert is_key(key) and f'href="data:text/plain,{key}%0A"' in shown
    assert signed_in.post("/setup/tokens/", form).headers["Location"] == "/setup/tokens/"
    token = AccessToken.objects.get()
    program = Program(key=key)
    assert program.get("kits").status_code == 200
    listed = _text(signed_in.get("/setup/tokens/"))
    assert key not in listed and "Course site" in listed and "no last day" in listed
    assert "last used" in listed and "owner: Access token “Course site” made" in listed
    revoke = f"/setup/tokens/{token.pk}/revoke/"
    assert "is refused from now on" in _text(signed_in.get(revoke))
    signed_in.post(revoke)
    assert program.get("kits").status_code == 401
    assert "revoked" in _text(signed_in.get("/setup/tokens/"))
    assert "token Course site" not in _text(signed_in.get("/people/"))


def test_what_was_typed_stays_where_it_is_refused(signed_in):
    make_access_token("Site", ["kits:read"])
    form = {"name": "Site", "scopes": ["verdicts:read"], "expires_on": "2099-01-31"}
    answer = _text(signed_in.post("/setup/tokens/", form))
    assert "There was a token of this name already" in answer
    assert 'value="Site"' in answer and 'value="2099-01-31"' in answer
    assert re.search(r'value="verdicts:read"[^>]* checked', answer)
    assert "Choose at least one thing" in _text(signed_in.post("/setup/tokens/", {"name": "x"}))


def test_people_read_what_programs_can_do(signed_in):
    page = _text(signed_in.get("/api/"))
    assert "POST /api/v1/captures" in page and "captures:write" in page
    assert Client().get("/api/").status_code == 302
