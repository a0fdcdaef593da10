"""Signing in: who gets in, who is slowed down, and the second step."""

import pytest
from allauth.mfa.models import Authenticator
from allauth.mfa.totp.internal.auth import (
    format_hotp_value,
    hotp_value,
    yield_hotp_counters_from_time,
)
from django.contrib.auth import get_user_model
from django.contrib.auth.hashers import identify_hasher
from django.test import Client
from django.urls import reverse

from tests.conftest import OWNER_NAME, OWNER_PASSWORD

LOGIN = "/account/login/"


def _try(client: Client, password: str, name: str = OWNER_NAME):
    return client.post(LOGIN, {"login": name, "password": password})


def _digits(secret: str) -> str:
    counter = next(iter(yield_hotp_counters_from_time()))
    return format_hotp_value(hotp_value(secret, counter))


def test_a_page_asks_for_sign_in_and_comes_back_to_it(owner):
    client = Client()
    asked = client.get("/account/password/")
    assert asked.headers["Location"] == f"{LOGIN}?next=/account/password/"
    answer = client.post(
        asked.headers["Location"],
        {"login": OWNER_NAME, "password": OWNER_PASSWORD, "next": "/account/password/"},
    )
    assert answer.headers["Location"] == "/account/password/"


def test_a_wrong_password_is_refused_and_the_name_kept(owner, clean_cache):
    answer = _try(Client(), "wrong")
    assert answer.status_code == 200
    assert "do not belong together" in answer.content.decode()
    assert f'value="{OWNER_NAME}"' in answer.content.decode()


def test_the_limit_is_common_to_all_processes(settings):
    assert settings.CACHES["default"]["BACKEND"] == "django.core.cache.backends.db.DatabaseCache"


def test_an_address_on_another_site_is_not_followed(owner, clean_cache):
    answer = Client().post(
        LOGIN, {"login": OWNER_NAME, "password": OWNER_PASSWORD, "next": "https://evil.example/"}
    )
    assert answer.headers["Location"] == "/"


def test_nobody_signs_up(owner):
    answer = Client().post(
        "/account/signup/",
        {"username": "eve", "password1": "x-y-z-1234", "password2": "x-y-z-1234"},
    )
    assert "No sign-up here" in answer.content.decode()
    assert get_user_model().objects.count() == 1


def test_a_closed_account_does_not_open(owner, clean_cache):
    get_user_model().objects.update(is_active=False)
    client = Client()
    _try(client, OWNER_PASSWORD)
    assert "_auth_user_id" not in client.session
    assert "This account is closed" in client.get(reverse("account_inactive")).content.decode()


def test_passwords_are_kept_with_argon2(db):
    from kitdesk import settings as real

    assert real.PASSWORD_HASHERS[0] == "django.contrib.auth.hashers.Argon2PasswordHasher"


def test_argon2_really_hashes(settings, db):
    from kitdesk import settings as real

    settings.PASSWORD_HASHERS = real.PASSWORD_HASHERS
    user = get_user_model().objects.create_user("ada", password="quiet-bow-arm-42")
    assert identify_hasher(user.password).algorithm == "argon2"
    assert user.check_password("quiet-bow-arm-42")


def test_signing_out_needs_a_post(signed_in):
    assert "Sign out" in signed_in.get("/account/logout/").content.decode()
    assert "_auth_user_id" in signed_in.session
    signed_in.post("/account/logout/")
    assert "_auth_user_id" not in signed_in.session


def test_the_password_can_be_changed(owner, clean_cache):
    client = Client()
    _try(client, OWNER_PASSWORD)
    new = "slow-left-hand-77"
    client.post(
        "/account/password/", {"oldpassword": OWNER_PASSWORD, "password1": new, "password2": new}
    )
    owner.refresh_from_db()
    assert owner.check_password(new)


@pytest.fixture
def second_step(owner, clean_cache) -> str:
    """The owner sets up an authenticator app through the pages; returns its secret."""
    client = Client()
    _try(client, OWNER_PASSWORD)
    asked = client.get(reverse("mfa_activate_totp"))
    assert asked.headers["Location"].startswith(reverse("account_reauthenticate"))
    page = client.post(asked.headers["Location"], {"password": OWNER_PASSWORD}, follow=True)
    secret = page.context["form"].secret
    assert secret in page.content.decode()
    answer = client.post(reverse("mfa_activate_totp"), {"code": _digits(secret)})
    assert answer.status_code == 302
    assert Authenticator.objects.filter(user=owner, type="totp").exists()
    return secret


def test_a_second_step_keeps_the_password_alone_out(second_step):
    client = Client()
    answer = _try(client, OWNER_PASSWORD)
    assert answer.headers["Location"].startswith(reverse("mfa_authenticate"))
    assert "_auth_user_id" not in client.session
    assert (
        "this code is not right"
        in client.post(reverse("mfa_authenticate"), {"code": "000000"}).content.decode().lower()
    )


def test_a_recovery_code_opens_once(second_step):
    codes = Authenticator.objects.get(type="recovery_codes").wrap().get_unused_codes()
    client = Client()
    _try(client, OWNER_PASSWORD)
    client.post(reverse("mfa_authenticate"), {"code": codes[0]})
    assert "_auth_user_id" in client.session
    again = Client()
    _try(again, OWNER_PASSWORD)
    again.post(reverse("mfa_authenticate"), {"code": codes[0]})
    assert "_auth_user_id" not in again.session


@pytest.mark.parametrize(
    "name",
    [
        "mfa_index",
        "mfa_deactivate_totp",
        "mfa_view_recovery_codes",
        "mfa_generate_recovery_codes",
        "account_change_password",
        "account_reauthenticate",
        "mfa_reauthenticate",
        "account_logout",
    ],
)
def test_every_account_page_renders_in_the_desks_own_frame(name, second_step):
    client = Client()
    _try(client, OWNER_PASSWORD)
    codes = Authenticator.objects.get(type="recovery_codes").wrap().get_unused_codes()
    client.post(reverse("mfa_authenticate"), {"code": codes[0]})
    if name not in ("account_reauthenticate", "mfa_reauthenticate"):
        client.post(reverse("account_reauthenticate"), {"password": OWNER_PASSWORD})
    answer = client.get(reverse(name))
    assert answer.status_code == 200
    assert 'class="masthead"' in answer.content.decode()
