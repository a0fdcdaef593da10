"""What ear and hand are told of a scan. The browser's sound and vibration are replaced by ones that
write down what was asked of them, for all pages of the tab.
"""

import pytest
from playwright.sync_api import Page, expect

from rentals.actions.dispatch import dispatch
from tests.factories import assigned_loan, complete_kit, packed_loan

from .test_lost_connection import offline

pytestmark = pytest.mark.browser

NOTED = """
const note = (name, value) => {
  const all = JSON.parse(sessionStorage.getItem(name) || "[]");
  sessionStorage.setItem(name, JSON.stringify([...all, value]));
};
class NotedTone {
  frequency = { set value(hertz) { note("heard", hertz); } };
  connect() {}
  start() {}
  stop() {}
}
class NotedVolume { gain = { value: 1 }; connect() {} }
window.AudioContext = class {
  state = "running"; currentTime = 0; destination = null;
  createOscillator() { return new NotedTone(); }
  createGain() { return new NotedVolume(); }
};
navigator.vibrate = (pattern) => note("felt", pattern);
"""
RIGHT, WRONG, UNKEPT = ([880], [[40]]), ([220, 220], [[90, 60, 90]]), ([150], [[300]])


def noted(page: Page) -> tuple[list[float], list[list[int]]]:
    """What was heard and felt since this was last asked."""
    taken = page.evaluate("""() => ["heard", "felt"].map((name) => {
      const all = JSON.parse(sessionStorage.getItem(name) || "[]");
      sessionStorage.removeItem(name);
      return all;
    })""")
    return taken[0], taken[1]


def scan(page: Page, box: str, text: str, shows: str) -> tuple[list[float], list[list[int]]]:
    page.locator(box).fill(text)
    page.locator(box).press("Enter")
    expect(page.locator("body")).to_contain_text(shows)
    return noted(page)


def test_right_and_wrong_differ_on_every_scan_and_off_is_off(browser_page: Page) -> None:
    page, loan = browser_page, assigned_loan()
    part, second = loan.kit.parts.order_by("pk")[:2]
    away = dispatch(packed_loan(complete_kit(loan.kit.kit_type)).kit)
    page.add_init_script(NOTED)
    page.goto(f"/pack/{loan.kit.code}/")
    foreign = away.kit.parts.first().code
    assert scan(page, "#id_scan", part.code, f"{part.code} ticked") == RIGHT
    assert scan(page, "#id_scan", foreign, f"{foreign} belongs to") == WRONG
    with offline(page):
        assert scan(page, "#id_scan", second.code, "Not kept: no connection") == UNKEPT
    expect(page.locator("#scan-said")).to_contain_text(f"{second.code} ticked")
    assert noted(page) == RIGHT
    page.locator(".checklist button", has_text="Licence key").click()
    expect(page.locator("[data-under-way]")).to_have_count(0)
    assert noted(page) == ([], []), "a press is seen by the one who presses"

    # On the list of dispatch, and where the answer is another page.
    page.goto("/pack/dispatch/")
    assert scan(page, "#id_scan", "no code", "is no kit of this desk") == WRONG
    page.goto(f"/receive/{away.kit.code}/")
    assert scan(page, "#part-scan", foreign, "1 of 7 looked at") == RIGHT
    assert scan(page, "#part-scan", "no code", "is not a code") == WRONG
    assert scan(page, "#scan-box", "nobody at all", "Not found") == WRONG
    assert scan(page, "#scan-box", loan.kit.code, "in the parcel") == RIGHT

    page.locator(".who summary").click()
    page.get_by_role("button", name="Sound and vibration").click()
    # The next page is here before its menu is opened.
    expect(page.locator("body[data-signals]")).to_have_count(0)
    page.locator(".who summary").click()
    switch = page.get_by_role("button", name="Sound and vibration")
    expect(switch).to_have_attribute("aria-pressed", "false")
    assert scan(page, "#id_scan", foreign, f"{foreign} belongs to") == ([], [])
    switch.click()
    expect(page.locator("body[data-signals]")).to_have_count(1)
    assert scan(page, "#id_scan", foreign, f"{foreign} belongs to") == WRONG
