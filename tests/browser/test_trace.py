"""Looking closer at a trace: by key, by link, and without a script."""

import re

import pytest
from playwright.sync_api import Page, expect

from readiness.actions.upload import store_upload
from tests.browser_driver import PHONE, faults
from tests.factories import complete_kit
from tests.readiness.captures import INTERMITTENT_B, capture_bytes, capture_file

pytestmark = pytest.mark.browser


def opened_lead():
    kit = complete_kit(cleared=False)
    data = capture_bytes("flex", kit=kit.code, faults=INTERMITTENT_B)
    return store_upload([capture_file("a.csv", data)]).captures.get()


@pytest.mark.night
def test_keys_at_the_trace_look_closer_and_stay_at_it(browser_page: Page) -> None:
    page, capture = browser_page, opened_lead()
    page.goto(capture.get_absolute_url())
    trace = page.locator("#trace-view")
    trace.focus()
    for key, caption in (
        ("+", "2.5 to 7.5 s of 10.0 s"),
        ("+", "3.75 to 6.25 s of 10.0 s"),
        ("ArrowRight", "5 to 7.5 s of 10.0 s"),
        ("-", "3.75 to 8.75 s of 10.0 s"),
        ("ArrowLeft", "1.25 to 6.25 s of 10.0 s"),
    ):
        page.keyboard.press(key)
        expect(trace.locator("figcaption")).to_contain_text(caption)
        expect(trace).to_be_focused()
    assert "from=1.25&to=6.25" in page.url
    assert faults(page) == []
    page.keyboard.press("0")
    expect(trace.locator("figcaption")).to_contain_text("10.0 s between")
    page.go_back()
    expect(trace.locator("figcaption")).to_contain_text("1.25 to 6.25 s of 10.0 s")


def test_without_a_script_a_link_leads_to_an_event(open_page, signed_in) -> None:
    capture = opened_lead()
    page = open_page(signed_in, size=PHONE, java_script_enabled=False)
    page.goto(capture.get_absolute_url())
    page.get_by_role("link", name="Event 1", exact=True).click()
    trace = page.locator("#trace-view")
    expect(trace.locator("figcaption")).to_contain_text(re.compile(r"1 of \d abrupt events"))
    expect(trace.locator(".plot-narrow .plot-event-number").first).to_have_text("1")
    page.get_by_role("link", name="Wider").click()
    expect(trace.locator("figcaption")).to_contain_text("s of 10.0 s")
