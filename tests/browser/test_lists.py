"""Lists in the browser: rows are ticked one by one or all at once, headings sort, and a run's strip
is drawn.
"""

import pytest
from playwright.sync_api import Page, expect

from rentals.models import Kit
from tests.factories import assigned_loan, complete_kit, packed_loan

pytestmark = pytest.mark.browser


#: Lower edges of the column heads in words, and how far a tick stands off the middle of its code.
PLACES = """() => {
    const box = (node) => {
        const range = document.createRange();
        range.selectNodeContents(node);
        return range.getBoundingClientRect();
    };
    const middle = (rect) => (rect.top + rect.bottom) / 2;
    const heads = [...document.querySelectorAll(".rows thead th:not(.pick)")];
    const tick = document.querySelector(".rows td.pick input").getBoundingClientRect();
    const code = box(document.querySelector(".rows tbody th a"));
    return {
        heads: heads.map((head) => Math.round(box(head.querySelector("a") || head).bottom)),
        off: middle(tick) - middle(code),
    };
}"""


def test_all_on_the_page_are_ticked_and_held_at_once(browser_page: Page) -> None:
    page = browser_page
    loan, kits = assigned_loan(), [complete_kit(), complete_kit()]
    page.goto("/kits/")
    expect(page.get_by_text("none ticked")).to_be_visible()
    page.get_by_role("checkbox", name="All on this page").check()
    expect(page.get_by_text("3 ticked")).to_be_visible()
    places = page.evaluate(PLACES)
    assert len(set(places["heads"])) == 1 and abs(places["off"]) < 2
    page.get_by_role("checkbox", name=f"Tick {loan.kit.code}").uncheck()
    expect(page.get_by_text("2 ticked")).to_be_visible()
    page.get_by_role("link", name="Due back").click()
    expect(page.get_by_role("columnheader", name="Due back")).to_have_attribute(
        "aria-sort", "ascending"
    )
    for kit in kits:
        page.get_by_role("checkbox", name=f"Tick {kit.code}").check()
    page.get_by_role("button", name="Hold").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Hold 2 kits")
    page.get_by_label("Reason").fill("recall")
    page.get_by_role("button", name="Hold 2 kits").click()
    expect(page.get_by_text("Held: 2 kits.")).to_be_visible()
    assert set(Kit.objects.filter(state="held")) == set(kits)
    assert "sort=due" in page.url


def test_ticks_and_strip_fit_a_phone(phone_page: Page) -> None:
    page, run = phone_page, assigned_loan().enrolment.run
    for address in ("/", "/kits/", "/parts/", "/runs/", run.get_absolute_url(), "/receive/out/"):
        page.goto(address)
        wide = page.evaluate("document.documentElement.scrollWidth > innerWidth")
        assert not wide, address
    page.goto(run.get_absolute_url())
    expect(page.locator(".strip-bar")).to_be_visible()
    expect(page.get_by_role("list", name="1 student")).to_have_text("1 assigned")
    page.get_by_label("Sorted by").select_option(label="Kit")
    expect(page.get_by_label("Sorted by")).to_have_value("kit")


def test_the_carrier_stays_while_parcels_are_scanned(browser_page: Page) -> None:
    page, loan = browser_page, packed_loan()
    page.goto("/pack/dispatch/")
    page.get_by_label("Carrier").fill("Bicycle courier")
    for text in (loan.kit.code, "AB1234"):
        page.get_by_label("Kit, then its tracking number").fill(text)
        page.keyboard.press("Enter")
        expect(page.get_by_label("Kit, then its tracking number")).to_have_value("")
    expect(page.get_by_text("AB1234, Bicycle courier")).to_be_visible()
    expect(page.get_by_label("Carrier")).to_have_value("Bicycle courier")
    loan.refresh_from_db()
    assert (loan.stage, loan.carrier) == ("away", "Bicycle courier")
