"""First run and sign-in in a real Chromium, at laptop and phone size."""

import pytest
from django.contrib.auth import get_user_model
from django.urls import reverse

from tests.browser_driver import LAPTOP, PHONE, faults
from tests.conftest import OWNER_NAME, OWNER_PASSWORD

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SIZES = pytest.mark.parametrize(
    "size",
    [pytest.param(LAPTOP, id="laptop", marks=pytest.mark.night), pytest.param(PHONE, id="phone")],
)


@SIZES
def test_an_empty_desk_gets_its_owner(open_page, size):
    page = open_page(size=size)
    page.goto("/")
    assert page.url.endswith(reverse("first_run"))
    assert faults(page) == []
    page.get_by_label("Name of your practice").fill("Quiet Hands")
    page.get_by_label("Your name").fill("Ada Lind")
    page.get_by_label("Name to sign in with").fill("ada")
    page.get_by_label("Password", exact=True).fill("quiet-bow-arm-42")
    page.get_by_label("The same password again").fill("quiet-bow-arm-43")
    page.get_by_role("button", name="Make my account").click()
    assert page.locator(".error-list").is_visible()
    assert page.get_by_label("Your name").input_value() == "Ada Lind"
    assert faults(page) == []
    page.get_by_label("Password", exact=True).fill("quiet-bow-arm-42")
    page.get_by_label("The same password again").fill("quiet-bow-arm-42")
    page.get_by_role("button", name="Make my account").click()
    page.wait_for_url(lambda address: "first-run" not in address)
    assert page.locator(".who summary").inner_text() == "Ada"
    assert get_user_model().objects.get().username == "ada"


@SIZES
def test_signing_in_lands_on_the_page_that_was_asked_for(open_page, owner, size):
    page = open_page(size=size)
    page.goto(reverse("account_change_password"))
    assert faults(page) == []
    page.get_by_label("Name to sign in with").fill(OWNER_NAME)
    page.get_by_label("Password").fill(OWNER_PASSWORD)
    page.keyboard.press("Enter")
    page.wait_for_url(lambda address: "login" not in address)
    assert page.locator("h1").inner_text() == "Change your password"
    assert faults(page) == []
    page.locator(".who summary").click()
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url(lambda address: "login" in address)
    page.go_back()
    page.wait_for_url(lambda address: "login" in address)
    assert page.locator("h1").inner_text() == "Sign in"


@SIZES
@pytest.mark.parametrize(
    "name",
    [
        "account_logout",
        "account_reauthenticate",
        "mfa_index",
        "mfa_activate_totp",
        "account_signup",
        "people",
    ],
)
def test_account_pages_are_sound(name, open_page, signed_in, size):
    page = open_page(signed_in, size=size)
    page.goto(reverse(name))
    assert page.locator("h1").inner_text()
    assert faults(page) == []


@SIZES
def test_an_unknown_address_is_a_sound_page(open_page, signed_in, size):
    page = open_page(signed_in, size=size)
    page.goto("/no/such/page")
    assert page.locator("h1").inner_text() == "There is nothing at this address"
    assert faults(page) == []
