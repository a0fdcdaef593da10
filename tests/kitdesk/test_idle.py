"""Sessions that are not used end, and noting their use costs little."""

import pytest
from django.contrib.sessions.backends.db import SessionStore
from django.db import OperationalError, connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from kitdesk.open_sessions import SINCE, USED

pytestmark = pytest.mark.django_db
HOUR = 3600


def _shift(client: Client, name: str, seconds: int) -> None:
    session = client.session
    session[name] -= seconds
    session.save()


@pytest.mark.parametrize(
    ("name", "hours", "stays"),
    [(USED, 11, True), (USED, 13, False), (SINCE, 13 * 24, True), (SINCE, 15 * 24, False)],
)
def test_a_session_ends_when_it_is_idle_or_old(signed_in, name, hours, stays):
    _shift(signed_in, name, hours * HOUR)
    answer = signed_in.get(reverse("keys"), follow=True)
    assert (answer.redirect_chain == []) is stays
    assert ("You were signed out" in answer.content.decode()) is not stays


def test_the_limit_can_be_set(signed_in, settings):
    settings.KITDESK_IDLE_HOURS = 1
    _shift(signed_in, USED, 2 * HOUR)
    assert signed_in.get(reverse("keys")).status_code == 302


def _writes(client: Client) -> int:
    with CaptureQueriesContext(connection) as queries:
        assert client.get(reverse("keys")).status_code == 200
    return sum(query["sql"].startswith(("UPDATE", "INSERT")) for query in queries)


def test_the_use_is_written_once_a_minute(signed_in):
    assert _writes(signed_in) == 0
    _shift(signed_in, USED, 2 * 60)
    before = signed_in.session[USED]
    assert (_writes(signed_in), _writes(signed_in)) == (1, 0)
    assert signed_in.session[USED] >= before + 2 * 60


def test_a_session_of_before_this_rule_is_taken_as_it_is(signed_in):
    session = signed_in.session
    del session[USED], session[SINCE]
    session.save()
    assert signed_in.get(reverse("keys")).status_code == 200
    assert {USED, SINCE} <= set(signed_in.session.keys())


def test_a_busy_database_is_no_hindrance(signed_in, monkeypatch):
    _shift(signed_in, USED, 2 * 60)

    def locked(*args: object, **words: object) -> None:
        raise OperationalError("database is locked")

    monkeypatch.setattr(SessionStore, "save", locked)
    assert signed_in.get(reverse("keys")).status_code == 200
