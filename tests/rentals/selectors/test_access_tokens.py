"""Tokens as the list shows them."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.actions.access_tokens import make_access_token, revoke_access_token
from rentals.models import AccessToken
from rentals.selectors.access_tokens import access_tokens, token_events, token_lines, token_with

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]


def test_those_in_force_come_first():
    today = timezone.localdate()
    make_access_token("Old", ["kits:read"], expires_on=today, at=timezone.now() - timedelta(2))
    make_access_token("Gone", ["kits:read"])
    make_access_token("New", ["kits:read", "verdicts:read"])
    revoke_access_token(AccessToken.objects.get(name="Gone"))
    lines = token_lines(access_tokens())
    assert [line.token.name for line in lines] == ["New", "Old", "Gone"]
    assert [line.standing for line in lines] == ["", "", "revoked"]
    assert len(lines[0].may) == 2
    assert len(token_events(2)) == 2
    assert token_with("kitdesk_") is None
