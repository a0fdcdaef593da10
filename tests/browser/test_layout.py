"""Where things stand: in line what belongs so, also with letters at twice their size and in windows
so low that bars which stay would hide the page.
"""

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive
from rentals.models import Kit, Loan
from tests.browser_driver import PHONE
from tests.factories import assigned_loan, packed_loan

pytestmark = pytest.mark.browser

BESIDE_OR_BELOW = """() => {
  const boxes = [...document.querySelectorAll(".nav > ul > li > :is(a, details > summary)")]
    .map((name) => {
      const letters = document.createRange();
      letters.selectNodeContents(name);
      return letters.getBoundingClientRect();
    })
    .filter((box) => box.width);
  return boxes.every((a, i) => boxes.slice(i + 1).every((b) =>
    a.right <= b.left || b.right <= a.left || a.bottom <= b.top || b.bottom <= a.top));
}"""


def test_letters_at_twice_their_size_fit_a_phone(phone_page: Page) -> None:
    page, loan = phone_page, assigned_loan()
    run, kit = loan.enrolment.run, loan.kit
    # Late, so that the longest words of a state are on the page.
    Loan.objects.filter(pk=dispatch(packed_loan().kit).pk).update(
        post_by="2020-01-01", due_on="2020-01-01"
    )
    Kit.objects.update(
        scored_at=timezone.now(), score_continuity=40, score_noise=97, score_battery=50
    )
    addresses = ("/", "/kits/", "/receive/", run.get_absolute_url(), kit.get_absolute_url())
    for address in (*addresses, f"/pack/{kit.code}/"):
        page.goto(address)
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"], address
        assert page.evaluate(BESIDE_OR_BELOW), address


def test_in_a_low_window_no_bar_stays(phone_page: Page) -> None:
    page, loan = phone_page, assigned_loan()
    page.goto(f"/pack/{loan.kit.code}/")
    expect(page.locator(".nav")).to_have_css("position", "fixed")
    page.set_viewport_size({"width": 640, "height": 400})
    for bar in (".nav", ".page-action", ".count-stays"):
        expect(page.locator(bar).first).not_to_have_css("position", "fixed")
        expect(page.locator(bar).first).not_to_have_css("position", "sticky")
    more = page.locator(".nav-more")
    more.locator("summary").tap()
    expect(more.get_by_role("link", name="Setup")).to_be_in_viewport()
    page.locator("h1").dispatch_event("pointerdown")  # all that an iPhone makes of a tap there
    expect(more.get_by_role("link", name="Setup")).to_be_hidden()


def test_what_is_asked_of_a_damaged_lead_set_stands_in_line(browser_page: Page) -> None:
    loan = arrive(dispatch(packed_loan().kit).kit).loan
    browser_page.goto(f"/receive/{loan.kit.code}/")
    leads = browser_page.locator(".checklist-row", has_text="Lead set")
    leads.get_by_text("What is wrong, photo").click()
    lead, wrong = (
        leads.get_by_label(name).bounding_box() for name in ("Which lead", "What is wrong")
    )
    assert lead["y"] == wrong["y"] and lead["x"] < wrong["x"]
    choice = leads.get_by_role("group").locator(":scope > *")
    what, options = choice.nth(0).bounding_box(), choice.nth(1).bounding_box()
    assert what["x"] + what["width"] <= options["x"]
    assert options["y"] < what["y"] + what["height"]


def test_a_slash_leaves_every_box_that_is_not_free_text(browser_page: Page) -> None:
    page, loan = browser_page, assigned_loan()
    page.goto(f"/pack/{loan.kit.code}/")
    codes, scan_box = page.locator("#id_scan"), page.locator("#scan-box")
    expect(codes).to_be_focused()
    page.keyboard.press("/")
    expect(scan_box).to_be_focused()
    codes.fill("https:")
    page.keyboard.press("/")
    expect(codes).to_have_value("https:/")
    page.get_by_label("Parcel mass, g").focus()
    page.keyboard.press("/")
    expect(scan_box).to_be_focused()
    page.locator("h1").click()
    page.keyboard.press("?")
    expect(page.get_by_role("heading", name="Keys")).to_be_visible()
