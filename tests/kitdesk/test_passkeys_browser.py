"""Passkeys in a real Chromium, whose virtual authenticator signs as a device would."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from allauth.mfa.models import Authenticator
from django.test import Client
from django.urls import reverse
from playwright.sync_api import CDPSession, Page

from tests.browser_driver import PHONE, faults
from tests.conftest import OWNER_NAME, OWNER_PASSWORD

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
DEVICE = {
    "protocol": "ctap2",
    "transport": "internal",
    "hasResidentKey": True,
    "hasUserVerification": True,
    "isUserVerified": True,
    "automaticPresenceSimulation": True,
}


@pytest.fixture
def page(open_page, owner, clean_cache, settings, live_server) -> Iterator[Page]:
    """A phone; browsers take this machine's own name for a secure site."""
    settings.KITDESK_PASSKEYS = True
    assert live_server.url.startswith("http://localhost:")
    return open_page(size=PHONE)


@pytest.fixture
def device(page) -> tuple[CDPSession, str]:
    """The phone's authenticator, and its name to the browser."""
    line = page.context.new_cdp_session(page)
    line.send("WebAuthn.enable")
    made = line.send("WebAuthn.addVirtualAuthenticator", {"options": DEVICE})
    return line, made["authenticatorId"]


def _by_password(page: Page) -> None:
    page.goto(reverse("account_login"))
    page.get_by_label("Name to sign in with").fill(OWNER_NAME)
    page.get_by_label("Password").fill(OWNER_PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    page.wait_for_url(lambda address: "/login/" not in address)


def _once_more(page: Page) -> None:
    """The password again, where a change of the sign-in asks for it."""
    if _heading(page) != "Is it you?":
        return
    other_way = page.get_by_role("link", name="With the password instead")
    if other_way.count():
        other_way.click()
    page.get_by_label("Password").fill(OWNER_PASSWORD)
    page.keyboard.press("Enter")
    page.wait_for_url(lambda address: "confirm" not in address)


def _signed_out(page: Page) -> None:
    page.context.clear_cookies()


def _heading(page: Page) -> str:
    return page.locator("h1").inner_text()


def _credentials(device: tuple[CDPSession, str]) -> list[dict]:
    line, name = device
    return line.send("WebAuthn.getCredentials", {"authenticatorId": name})["credentials"]


def test_a_passkey_is_added_renamed_opens_the_desk_and_is_removed(page, device):
    _by_password(page)
    page.goto(reverse("mfa_add_webauthn"))
    _once_more(page)
    assert _heading(page) == "Add a passkey" and faults(page) == []
    page.get_by_label("Name of the key").fill("Old phone")
    page.get_by_role("button", name="Add the passkey").click()
    page.wait_for_url(lambda address: "recovery-codes" in address)
    [kept] = _credentials(device)
    assert kept["isResidentCredential"] and kept["rpId"] == "localhost"

    page.goto(reverse("mfa_list_webauthn"))
    assert faults(page) == []
    page.get_by_role("link", name="Rename Old phone").click()
    assert _heading(page) == "Name of a passkey" and faults(page) == []
    page.get_by_label("Name of the key").fill("Pocket phone")
    page.get_by_role("button", name="Save the name").click()
    page.locator(".work-what", has_text="Pocket phone").wait_for()

    _signed_out(page)
    page.goto(reverse("account_login"))
    page.get_by_role("button", name="Sign in with a passkey").click()
    page.wait_for_url(lambda address: "/login/" not in address)
    assert page.locator(".who summary").is_visible()
    assert _credentials(device)[0]["signCount"] > kept["signCount"]

    _signed_out(page)
    _by_password(page)
    assert _heading(page) == "Second step"
    page.get_by_role("button", name="Use a passkey").click()
    page.wait_for_url(lambda address: "authenticate" not in address)
    assert page.locator(".who summary").is_visible()

    page.goto(reverse("mfa_list_webauthn"))
    page.get_by_role("link", name="Remove Pocket phone").click()
    _once_more(page)
    page.get_by_role("button", name="Remove it").click()
    page.get_by_text("No passkeys yet").wait_for()
    assert not Authenticator.objects.exists()

    _signed_out(page)
    page.goto(reverse("account_login"))
    page.get_by_role("button", name="Sign in with a passkey").click()
    page.get_by_text("This passkey was not taken").wait_for()
    assert Client().get("/", follow=True).redirect_chain


def test_a_device_without_the_key_and_one_that_says_no_are_told_in_words(page, device):
    line, name = device
    page.goto(reverse("account_login"))
    line.send("WebAuthn.setUserVerified", {"authenticatorId": name, "isUserVerified": False})
    page.get_by_role("button", name="Sign in with a passkey").click()
    page.get_by_text("The browser gave no passkey").wait_for()
    assert faults(page) == []
