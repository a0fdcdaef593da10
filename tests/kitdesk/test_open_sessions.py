"""Everybody sees where they are signed in, and ends it; the owner does for all."""

from datetime import timedelta

import pytest
from django.contrib.sessions.models import Session
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from kitdesk.open_sessions import end_sessions, sessions_of
from kitdesk.people import add_helper, set_open, set_password
from kitdesk.roles.role import DeskRole
from tests.conftest import OWNER_NAME, OWNER_PASSWORD

pytestmark = pytest.mark.django_db
PHONE = "Mozilla/5.0 (iPhone; CPU iPhone OS 18_0 like Mac OS X) Version/18 Mobile Safari/604.1"
BACKEND = "allauth.account.auth_backends.AuthenticationBackend"


def _signed_in_by_phone() -> Client:
    client = Client(headers={"user-agent": PHONE})
    client.post(reverse("account_login"), {"login": OWNER_NAME, "password": OWNER_PASSWORD})
    return client


def _is_in(client: Client) -> bool:
    return client.get(reverse("keys")).status_code == 200


def _page(client: Client) -> str:
    return client.get(reverse("sessions")).content.decode()


def test_one_of_ones_own_sessions_is_seen_and_ended(signed_in, owner, clean_cache):
    phone = _signed_in_by_phone()
    assert "Safari on an iPhone" in _page(signed_in) and "127.0.0.1" not in _page(signed_in)
    this, away = sessions_of(owner, signed_in.session.session_key)
    assert (this.is_this, away.is_this, away.browser) == (True, False, "Safari on an iPhone")
    # What names a session in the page does not open it.
    assert phone.session.session_key not in _page(signed_in)
    answer = signed_in.post(reverse("session_end"), {"session": away.handle}, follow=True)
    assert "1 session has ended." in answer.content.decode()
    assert (_is_in(phone), _is_in(signed_in)) == (False, True)


def test_all_others_end_at_once_and_with_a_new_password(signed_in, owner, clean_cache):
    phone = _signed_in_by_phone()
    signed_in.post(reverse("session_end"))
    assert (_is_in(phone), _is_in(signed_in)) == (False, True)
    phone = _signed_in_by_phone()
    new = "quiet-other-arm-43"
    words = {"oldpassword": OWNER_PASSWORD, "password1": new, "password2": new}
    assert signed_in.post(reverse("account_change_password"), words).status_code == 302
    assert (_is_in(phone), _is_in(signed_in)) == (False, True)
    assert Session.objects.count() == 1


def test_the_owner_ends_anybodys_and_a_helper_only_their_own(signed_in, owner):
    helper = add_helper("ben", "slow-left-hand-77", [DeskRole.PACKER], name="Ben Vale")
    client = Client()
    client.force_login(helper, backend=BACKEND)
    assert client.get(reverse("people_sessions", args=[owner.pk])).status_code == 403
    assert client.post(reverse("people_session_end", args=[owner.pk])).status_code == 403
    of_owner = sessions_of(owner)[0].handle
    client.post(reverse("session_end"), {"session": of_owner})
    assert _is_in(signed_in)
    shown = signed_in.get(reverse("people_sessions", args=[helper.pk])).content.decode()
    assert "Where Ben Vale is signed in" in shown
    signed_in.post(reverse("people_session_end", args=[helper.pk]))
    assert (_is_in(client), _is_in(signed_in)) == (False, True)


@pytest.mark.parametrize("act", [set_password, set_open])
def test_nothing_is_left_of_a_closed_account_or_an_old_password(act, signed_in, owner):
    helper = add_helper("ben", "slow-left-hand-77", [DeskRole.PACKER], name="Ben Vale")
    Client().force_login(helper, backend=BACKEND)
    assert len(sessions_of(helper)) == 1
    if act is set_open:
        helper = set_open(helper.pk, False, by=owner)
    else:
        helper = set_password(helper.pk, "other-right-hand-5")
    assert sessions_of(helper) == [] and end_sessions(helper) == 0


def test_sessions_whose_time_is_up_are_cleared_away(signed_in, owner):
    Session.objects.update(expire_date=timezone.now() - timedelta(minutes=1))
    assert sessions_of(owner) == []
    call_command("tick", verbosity=0)
    assert not Session.objects.exists()
