"""The main screens in the dark, read by the rule for contrast on what the browser has drawn."""

import pytest
from axe_playwright_python.sync_playwright import Axe

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive
from tests.browser_driver import PHONE
from tests.factories import assigned_loan, packed_loan
from tests.hour import most

pytestmark = pytest.mark.browser

PAGES = most(5, 12)
"""They share one set of colours: by day some of the main screens and one thing of each kind."""
CONTRAST = {"runOnly": ["color-contrast"]}
GROUND = "getComputedStyle(document.documentElement).backgroundColor"


def test_all_words_can_be_read(open_page, signed_in) -> None:
    out, back = assigned_loan(), arrive(dispatch(packed_loan().kit).kit).loan
    page = open_page(signed_in, size=PHONE, color_scheme="dark")
    page.goto(f"/receive/{back.kit.code}/")
    page.locator(".choice-option", has_text="missing").first.click()
    page.get_by_text("1 of 7 looked at").wait_for()
    page.get_by_role("button", name="Finish the check").first.click()
    page.get_by_role("heading", name="Not finished yet").wait_for()
    addresses = (
        *("/", "/kits/", "/runs/", "/plan/", "/bench/", "/messages/", "/stock/", "/setup/"),
        f"/pack/{out.kit.code}/",
        out.kit.get_absolute_url(),
        out.enrolment.run.get_absolute_url(),
        back.get_absolute_url(),
    )
    for address in (None, *addresses[-PAGES:]):
        if address:
            page.goto(address)
        assert page.evaluate(GROUND) == "rgb(20, 25, 26)"
        rules = Axe().run(page, options=CONTRAST).response["violations"]
        assert [node["target"] for rule in rules for node in rule["nodes"]] == [], page.url
