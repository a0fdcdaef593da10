"""The frame and its scripts in a real Chromium: nothing typed is lost, nothing sent twice, nothing
under a bar.
"""

from __future__ import annotations

import pytest
from django.urls import reverse

from rentals.models import KitType

pytestmark = pytest.mark.browser
FORM = "main form[method=post]"
KEPT = "Object.keys(sessionStorage).filter((key) => key.startsWith('kitdesk.typed:')).length"


@pytest.fixture
def form_address() -> str:
    return reverse("rentals:kit_type_new")


def test_slash_goes_to_the_scan_box_but_not_while_typing(browser_page, form_address: str) -> None:
    browser_page.goto(form_address)
    browser_page.locator("h1").click()
    browser_page.keyboard.press("/")
    assert browser_page.evaluate("document.activeElement.id") == "scan-box"
    browser_page.keyboard.type("a/b")
    assert browser_page.input_value("#scan-box") == "a/b"


def test_what_was_typed_comes_back_after_a_reload_and_can_be_discarded(
    browser_page, form_address: str
) -> None:
    browser_page.goto(form_address)
    browser_page.fill("#id_name", "Second-year kit")
    browser_page.reload()
    assert browser_page.input_value("#id_name") == "Second-year kit"
    browser_page.get_by_role("button", name="Discard it").click()
    assert browser_page.input_value("#id_name") == ""
    assert browser_page.evaluate(KEPT) == 0


def test_what_was_typed_survives_the_end_of_the_session(
    browser_page, form_address: str, owner
) -> None:
    browser_page.goto(form_address)
    browser_page.fill("#id_name", "Second-year kit")
    browser_page.context.clear_cookies(name="sessionid")
    browser_page.locator(f"{FORM} button.act").click()
    browser_page.wait_for_url(lambda url: reverse("account_login") in url)
    browser_page.goto(reverse("account_login") + f"?next={form_address}")
    browser_page.fill("#id_login", owner.username)
    browser_page.fill("#id_password", "quiet-bow-arm-42")
    browser_page.locator(f"{FORM} button.act").click()
    browser_page.wait_for_url(f"**{form_address}")
    assert browser_page.input_value("#id_name") == "Second-year kit"
    assert not KitType.objects.filter(name="Second-year kit").exists()


def test_an_accepted_form_leaves_nothing_behind(browser_page, form_address: str) -> None:
    browser_page.goto(form_address)
    browser_page.fill("#id_name", "Second-year kit")
    assert browser_page.evaluate(KEPT) == 1
    browser_page.locator(f"{FORM} button.act").click()
    browser_page.wait_for_url(lambda url: not url.endswith(form_address))
    assert browser_page.evaluate(KEPT) == 0


def test_a_form_pressed_twice_is_sent_once(browser_page, form_address: str) -> None:
    sent = []
    browser_page.on("request", lambda request: sent.append(request.method))
    browser_page.goto(form_address)
    browser_page.fill("#id_name", "Second-year kit")
    browser_page.evaluate(f"""() => {{
        const button = document.querySelector("{FORM} button.act");
        button.click();
        button.click();
    }}""")
    browser_page.wait_for_url(lambda url: not url.endswith(form_address))
    assert sent.count("POST") == 1


def test_a_password_is_never_kept(open_page, owner) -> None:
    page = open_page()
    page.goto(reverse("account_login"))
    page.fill("#id_login", owner.username)
    page.fill("#id_password", "not the right one")
    assert page.evaluate("JSON.stringify(sessionStorage)").count("not the right one") == 0
    assert page.evaluate(KEPT) == 0


@pytest.mark.parametrize("width", [390, 320])
def test_on_the_phone_nothing_lies_under_the_bars(
    phone_page, form_address: str, width: int
) -> None:
    phone_page.set_viewport_size({"width": width, "height": 640})
    phone_page.goto(form_address)
    assert phone_page.evaluate("document.documentElement.scrollWidth") <= width
    # At the very end of the page the last thing of the content stands clear of the action bar and
    # the navigation.
    phone_page.evaluate("window.scrollTo(0, document.documentElement.scrollHeight)")
    overlap = phone_page.evaluate("""() => {
        const bar = document.querySelector(".form-foot").getBoundingClientRect();
        const field = [...document.querySelectorAll("main form .field")].at(-1);
        const nav = document.querySelector("nav.nav").getBoundingClientRect();
        return {
            under: field.getBoundingClientRect().bottom - bar.top,
            bars: bar.bottom - nav.top,
            nav: nav.bottom - innerHeight,
        };
    }""")
    assert overlap["under"] <= 0
    assert overlap["bars"] <= 1
    assert abs(overlap["nav"]) <= 1


def test_the_rest_of_the_navigation_opens_without_a_script(
    open_page, signed_in, form_address, monkeypatch
) -> None:
    monkeypatch.setattr(
        "kitdesk.context.SCREENS", [(f"Screen {number}", "rentals:kits") for number in range(1, 9)]
    )
    page = open_page(signed_in, size={"width": 390, "height": 844}, java_script_enabled=False)
    page.goto(form_address)
    shown = page.locator(".nav > ul > li:not(.nav-more) a:visible").all_inner_texts()
    assert shown == [f"Screen {number}" for number in range(1, 6)]
    assert not page.locator(".nav-more a", has_text="Screen 8").is_visible()
    page.locator(".nav-more summary").click()
    assert page.locator(".nav-more a", has_text="Screen 8").is_visible()
