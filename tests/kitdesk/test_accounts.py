"""Wrong passwords cost whoever types them growing waits, and nobody else."""

import pytest
from allauth.mfa.models import Authenticator
from allauth.mfa.recovery_codes.internal.auth import RecoveryCodes
from django.contrib.auth import get_user_model
from django.test import Client

from kitdesk import throttle
from tests.conftest import OWNER_NAME, OWNER_PASSWORD

LOGIN = "/account/login/"
HERE, THERE = "198.51.100.7", "203.0.113.9"

pytestmark = pytest.mark.usefixtures("owner", "clean_cache")


class Clock:
    """The time that waits are counted by."""

    def __init__(self) -> None:
        self.now = 1_800_000_000.0

    def time(self) -> float:
        return self.now


@pytest.fixture(autouse=True)
def clock(monkeypatch) -> Clock:
    clock = Clock()
    monkeypatch.setattr(throttle, "time", clock)
    return clock


def _enter(client: Client, password: str, address: str = HERE, name: str = OWNER_NAME, **more: str):
    words = {"login": name, "password": password, **more}
    return client.post(LOGIN, words, REMOTE_ADDR=address)


def _is_in(client: Client) -> bool:
    return "_auth_user_id" in client.session


def _attack(count: int, address: str = HERE, name: str = OWNER_NAME) -> None:
    for number in range(count):
        _enter(Client(), f"wrong {number}", address, name)


def test_after_five_failures_even_the_right_password_waits_and_longer_each_time(clock):
    client = Client()
    for _ in range(5):
        assert "do not belong together" in _enter(client, "wrong").content.decode()
    waits = _enter(client, OWNER_PASSWORD).content.decode()
    assert "Too many wrong tries from here. Wait 30 seconds" in waits
    assert not _is_in(client)
    clock.now += 31
    _enter(client, "wrong")
    assert "Wait a minute" in _enter(client, OWNER_PASSWORD).content.decode()
    clock.now += 61
    _enter(client, OWNER_PASSWORD)
    assert _is_in(client)


def test_the_right_password_from_elsewhere_gets_in_at_once():
    _attack(60)
    client = Client()
    _enter(client, OWNER_PASSWORD, THERE)
    assert _is_in(client)


def test_a_browser_that_signed_in_before_gets_in_from_the_attackers_own_address():
    known = Client()
    _enter(known, OWNER_PASSWORD)
    known.post("/account/logout/")
    _attack(60)
    assert not _is_in(known)
    _enter(known, OWNER_PASSWORD)
    assert _is_in(known)


def test_a_known_browser_has_waits_of_its_own_and_only_for_its_own_name():
    known = Client()
    _enter(known, OWNER_PASSWORD)
    known.post("/account/logout/")
    for _ in range(5):
        _enter(known, "wrong")
    assert "Too many wrong tries" in _enter(known, OWNER_PASSWORD).content.decode()
    get_user_model().objects.create_user("bea", password="slow-left-hand-77")
    _attack(5, name="bea")
    assert "Too many wrong tries" in _enter(known, "guess", name="bea").content.decode()


def test_a_made_up_or_altered_cookie_is_nobodys():
    _attack(5)
    client = Client()
    client.cookies["kitdesk_browser"] = "WzEsIngiXQ:1w3bQ2:forged"
    assert "Too many wrong tries" in _enter(client, OWNER_PASSWORD).content.decode()


def test_one_address_cannot_try_one_password_for_every_name(clock):
    _attack(1, name="nobody")
    for number in range(25):
        answer = _enter(Client(), "Spring-2027!", name=f"person{number}")
    assert "Too many wrong tries" in answer.content.decode()
    client = Client()
    _enter(client, OWNER_PASSWORD, THERE)
    assert _is_in(client)


def test_a_household_of_the_newer_addresses_counts_as_one(clock):
    for number in range(5):
        _attack(1, address=f"2001:db8:1:1::{number + 1:x}")
    answer = _enter(Client(), OWNER_PASSWORD, "2001:db8:1:1::ffff")
    assert "Too many wrong tries" in answer.content.decode()
    client = Client()
    _enter(client, OWNER_PASSWORD, "2001:db8:1:2::1")
    assert _is_in(client)


def test_a_name_tried_from_many_places_gives_each_of_them_one_try():
    for number in range(21):
        _attack(1, address=f"192.0.2.{number + 1}")
    client = Client()
    assert "do not belong" in _enter(client, "slip of the hand", THERE).content.decode()
    assert "Wait a minute" in _enter(client, OWNER_PASSWORD, THERE).content.decode()
    other = Client()
    answer = _enter(other, OWNER_PASSWORD, "198.51.100.99")
    assert _is_in(other)
    told = other.get(answer.headers["Location"]).content.decode()
    assert "22 wrong passwords were tried for “owner” from 22 addresses" in told
    assert "wrong passwords were tried" not in other.get("/").content.decode()


def test_a_recovery_code_opens_instead_of_waiting_and_only_once(owner):
    RecoveryCodes.activate(owner)
    codes = Authenticator.objects.get(user=owner).wrap().get_unused_codes()
    _attack(5)
    client = Client()
    assert 'name="recovery_code"' in _enter(client, OWNER_PASSWORD).content.decode()
    wrong = _enter(client, "wrong", recovery_code=codes[0]).content.decode()
    assert "do not belong together" in wrong
    answer = _enter(client, OWNER_PASSWORD, recovery_code=codes[0])
    assert answer.status_code == 302
    _attack(5)
    again = _enter(Client(), OWNER_PASSWORD, recovery_code=codes[0])
    assert "do not belong" in again.content.decode()


def test_recovery_codes_are_not_guessed_either(owner):
    RecoveryCodes.activate(owner)
    _attack(5)
    for number in range(3):
        _enter(Client(), OWNER_PASSWORD, recovery_code=f"guess-{number}")
    code = Authenticator.objects.get(user=owner).wrap().get_unused_codes()[0]
    client = Client()
    answer = _enter(client, OWNER_PASSWORD, recovery_code=code)
    assert "Wait 5 minutes" in answer.content.decode()
    assert not _is_in(client)


def test_what_is_kept_shows_neither_name_nor_address(owner):
    from django.db import connection

    _attack(2)
    with connection.cursor() as cursor:
        cursor.execute("SELECT cache_key FROM kitdesk_cache")
        keys = " ".join(row[0] for row in cursor.fetchall())
    assert keys
    assert HERE not in keys
    assert OWNER_NAME not in keys
