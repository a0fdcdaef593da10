"""Access tokens are made once, kept as a digest, and revoked at once; the log knows all of it."""

from datetime import date, datetime, timedelta

import pytest
from django.utils import timezone

from rentals.actions.access_tokens import make_access_token, note_token_used, revoke_access_token
from rentals.errors import Refused
from rentals.models import AccessToken, Event
from rentals.selectors.access_tokens import token_lines, token_with
from rentals.verify import verify

pytestmark = pytest.mark.django_db


def test_a_token_is_made_used_and_revoked(owner):
    until = timezone.localdate() + timedelta(days=365)
    key = make_access_token("  Bench   computer ", ["kits:read"], expires_on=until, actor=owner)
    token = token_with(key)
    assert (token.name, token.scopes, token.made_by) == ("Bench computer", ["kits:read"], owner)
    assert key not in str(AccessToken.objects.values().get())
    assert token.account.username == "token Bench computer"
    assert not token.account.is_active and not token.account.has_usable_password()
    assert verify() == []
    revoke_access_token(token, actor=owner)
    revoke_access_token(token, actor=owner)
    [made, revoked] = Event.objects.filter(chain=f"token {token.pk}")
    assert (made.actor, revoked.actor) == (owner, owner)
    assert "kits:read" in made.text and "revoked" in revoked.text
    assert [line.standing for line in token_lines(AccessToken.objects.all())] == ["revoked"]
    assert verify() == []


def test_what_makes_no_token(owner):
    make_access_token("Site", ["kits:read"])
    for name, scopes, last, field in (
        ("Site", ["kits:read"], None, "name"),
        ("Other", [], None, "scopes"),
        ("Other", ["everything"], None, "scopes"),
        ("Other", ["kits:read"], date(2020, 1, 1), "expires_on"),
    ):
        with pytest.raises(Refused) as refused:
            make_access_token(name, scopes, expires_on=last)
        assert refused.value.field == field


def test_a_use_is_written_once_in_ten_minutes():
    key = make_access_token("Site", ["kits:read"])
    first = datetime.fromisoformat("2026-03-01T10:00:00+00:00")
    for minutes, noted in ((0, 0), (9, 0), (10, 10), (-5, -5)):
        note_token_used(token_with(key), at=first + timedelta(minutes=minutes))
        assert token_with(key).last_used_at == first + timedelta(minutes=noted)


@pytest.mark.parametrize("change", [{"scopes": ["students:read"]}, {"revoked_at": None}])
def test_verify_names_a_token_that_was_changed_by_hand(change):
    key = make_access_token("Site", ["kits:read"])
    revoke_access_token(token_with(key))
    AccessToken.objects.update(**change)
    assert any("Access token Site" in sentence for sentence in verify())
