"""The camera as a scanner. Chromium on a desktop reads no codes itself, so reader and camera are
replaced: the camera films an empty canvas, the reader finds what the test holds into it.
"""

import json

import pytest
from playwright.sync_api import Page, expect

from rentals.actions.dispatch import dispatch
from tests.browser_driver import PHONE, faults
from tests.factories import assigned_loan, complete_kit, packed_loan
from tests.rentals.photos import photographed, printed_label, sent

pytestmark = pytest.mark.browser

FILMED = """
window.BarcodeDetector = class {
  static getSupportedFormats() { return Promise.resolve(["qr_code"]); }
  async detect() {
    return JSON.parse(localStorage.getItem("held") || "[]").map((rawValue) => ({ rawValue }));
  }
};
const devices = { getUserMedia: async () => {
  if (localStorage.getItem("denied")) throw new DOMException("no", "NotAllowedError");
  return document.createElement("canvas").captureStream();
} };
Object.defineProperty(navigator, "mediaDevices", { value: devices });
"""


def hold(page: Page, *texts: str) -> None:
    page.evaluate("held => localStorage.setItem('held', held)", json.dumps(texts))


def test_what_the_camera_sees_goes_through_the_box(phone_page: Page) -> None:
    page, loan = phone_page, assigned_loan()
    first, second = loan.kit.parts.order_by("pk")[:2]
    page.add_init_script(FILMED)
    page.goto(f"/pack/{loan.kit.code}/")
    assert faults(page) == []
    page.get_by_role("button", name="Scan with the camera").click()
    view = page.get_by_role("dialog", name="Camera")
    expect(view).to_be_visible()
    assert view.bounding_box()["width"] <= PHONE["width"]
    hold(page, first.code, second.code)
    expect(view).to_contain_text("Several codes are in the picture")
    hold(page, first.code)
    expect(view).to_contain_text(f"{first.code} ticked")
    hold(page, second.code)
    expect(view).to_contain_text(f"{second.code} ticked")
    expect(page.get_by_text("2 of 8 in the parcel")).to_be_visible()
    view.get_by_role("button", name="Close").click()
    expect(view).to_have_count(0)

    # A parcel is received part by part: the camera stays open from page to page, until closed.
    away = dispatch(packed_loan(complete_kit(loan.kit.kit_type)).kit)
    part, other = away.kit.parts.order_by("pk")[:2]
    hold(page)
    page.goto(f"/receive/{away.kit.code}/")
    page.get_by_role("button", name="Scan with the camera").click()
    hold(page, part.code)
    expect(page.get_by_role("dialog", name="Camera")).to_contain_text(f"{part.code}: back")
    hold(page, other.code)
    expect(page.get_by_role("dialog", name="Camera")).to_contain_text(f"{other.code}: back")
    hold(page)
    view.get_by_role("button", name="Close").click()

    # The scan box on top has a page of its own for it.
    page.get_by_role("link", name="Scan with the camera").click()
    page.get_by_role("button", name="Scan with the camera").click()
    hold(page, loan.kit.code)
    expect(page.get_by_text("2 of 8 in the parcel")).to_be_visible()
    expect(page.get_by_role("dialog")).to_have_count(0)

    page.evaluate("localStorage.setItem('denied', '1')")
    page.get_by_role("button", name="Scan with the camera").click()
    expect(page.get_by_text("Take a photo instead")).to_be_visible()
    expect(page.get_by_text("Take a photo of the label")).to_be_visible()


def test_without_a_reader_a_photo_is_sent_as_soon_as_it_is_taken(browser_page: Page) -> None:
    page, loan = browser_page, assigned_loan()
    part = loan.kit.parts.get(kind="charger")
    page.goto(f"/pack/{loan.kit.code}/")
    expect(page.get_by_role("button", name="Scan with the camera")).to_be_hidden()
    page.get_by_text("Take a photo of the label").click()
    photo = sent(photographed(printed_label(part.code))).read()
    picked = {"name": "label.jpg", "mimeType": "image/jpeg", "buffer": photo}
    page.get_by_label("Photo of the label").set_input_files(picked)
    expect(page.locator("#scan-said")).to_contain_text(f"{part.code} ticked")
    assert page.get_by_label("Photo of the label").input_value() == ""
    assert faults(page) == []
    # The photo has gone already: the button asks for the next one, and nothing is said to be wrong.
    with page.expect_file_chooser():
        page.get_by_role("button", name="Read the photo").click()
    expect(page.locator("#scan-said")).to_contain_text(f"{part.code} ticked")
