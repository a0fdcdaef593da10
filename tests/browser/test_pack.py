"""The packing bench in a real browser: scan, press, refuse, pack, dispatch."""

import pytest
from playwright.sync_api import Page, expect

from rentals.actions.issue import refuse_clearance
from rentals.models import Loan
from tests.browser_driver import PHONE, faults
from tests.factories import assigned_loan, complete_kit

pytestmark = pytest.mark.browser


def test_a_kit_is_packed_by_scanning_and_pressing(browser_page: Page) -> None:
    page, loan = browser_page, assigned_loan()
    foreign = complete_kit().parts.get(kind="charger")
    page.goto("/pack/")
    assert faults(page) == []
    page.locator(".page-action").get_by_role("link").click()
    # A hand scanner types into the box that has the focus and ends with Enter.
    expect(page.locator("#id_scan")).to_be_focused()
    for part in loan.kit.parts.all():
        # The next part is scanned before the answer to the last one is there: no scan may be lost.
        page.keyboard.type(part.code)
        page.keyboard.press("Enter")
        expect(page.locator("#id_scan")).to_be_focused()
    expect(page.locator("#scan-said")).to_contain_text(f"{part.code} ticked.")
    page.keyboard.type(foreign.code)
    page.keyboard.press("Enter")
    expect(page.get_by_role("alert")).to_contain_text(
        f"{foreign.code} belongs to kit {foreign.kit.code}"
    )
    expect(page.get_by_text("5 of 8 in the parcel")).to_be_visible()
    for name in ("Gel electrodes", "Wrist band", "Shipping box"):
        page.locator(".checklist button", has_text=name).click()
    expect(page.get_by_text("All in the parcel")).to_be_visible()
    expect(page.get_by_text("8 of 8 in the parcel")).to_be_visible()
    assert faults(page) == []
    page.get_by_label("Parcel mass, g").fill("712")
    page.locator(".page-action").get_by_role("button", name="Pack").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Dispatch")
    assert faults(page) == []
    page.locator("#id_tracking_number").fill("AB 12 34")
    page.get_by_label("Carrier").fill("Village post")
    page.locator(".page-action").get_by_role("button", name="Dispatch").click()
    expect(page.get_by_text("is on its way")).to_be_visible()
    assert faults(page) == []
    loan.refresh_from_db()
    assert (loan.stage, loan.tracking_number, loan.parcel_mass_g) == ("away", "AB1234", 712)


def test_pressing_a_row_keeps_the_place_and_can_be_taken_back(phone_page: Page) -> None:
    page, loan = phone_page, assigned_loan()
    page.goto(f"/pack/{loan.kit.code}/")
    row = page.locator(".checklist button", has_text="Licence key")
    assert row.bounding_box()["height"] >= 44 and row.bounding_box()["width"] > PHONE["width"] - 60
    row.tap()
    expect(row).to_have_attribute("aria-pressed", "true")
    expect(page.get_by_text("1 of 8 in the parcel")).to_be_visible()
    row.tap()
    expect(row).to_have_attribute("aria-pressed", "false")
    assert faults(page) == []


def test_arrow_keys_walk_the_rows_across_bags_in_packing_order(browser_page: Page) -> None:
    page, loan = browser_page, assigned_loan()
    page.goto(f"/pack/{loan.kit.code}/")
    rows = page.locator(".checklist button[aria-pressed]")
    expect(rows).to_have_count(8)
    rows.first.focus()
    for number in range(1, 8):
        page.keyboard.press("ArrowDown")
        expect(rows.nth(number)).to_be_focused()
    page.keyboard.press("Space")
    expect(rows.nth(7)).to_have_attribute("aria-pressed", "true")
    expect(rows.nth(7)).to_be_focused()
    page.keyboard.press("ArrowUp")
    expect(rows.nth(6)).to_be_focused()


def test_a_kit_that_is_not_cleared_is_refused_with_its_reason(phone_page: Page) -> None:
    kit = complete_kit(cleared=False)
    refuse_clearance(kit, reason="Lead B breaks when it is flexed: swap the lead set.")
    assigned_loan(kit)
    page = phone_page
    page.goto(f"/pack/{kit.code}/")
    expect(page.get_by_text("Lead B breaks when it is flexed")).to_be_visible()
    assert faults(page) == []
    page.get_by_text("Issue it all the same").click()
    page.get_by_label("Reason").fill("Spare leads follow by letter.")
    assert faults(page) == []
    page.get_by_role("button", name="Override the gate").click()
    expect(page.get_by_text("Issued on an override: Spare leads follow by letter.")).to_be_visible()
    assert Loan.objects.get().override_reason


def test_without_a_script_rows_and_scans_work_as_plain_forms(open_page, signed_in) -> None:
    loan = assigned_loan()
    page = open_page(signed_in, java_script_enabled=False)
    page.goto(f"/pack/{loan.kit.code}/")
    page.locator(".checklist button", has_text="Shipping box").click()
    expect(page.get_by_text("1 of 8 in the parcel")).to_be_visible()
    page.locator("#id_scan").fill(loan.kit.parts.first().code)
    page.locator("#id_scan").press("Enter")
    expect(page.get_by_text("2 of 8 in the parcel")).to_be_visible()
    page.locator(".page-action").get_by_role("button", name="Pack").click()
    expect(page.get_by_text("6 not ticked yet")).to_be_visible()
