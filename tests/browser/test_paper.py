"""Paper in a real browser: choose labels, tap the sheet, own sheets, and what cannot be printed."""

import pytest
from playwright.sync_api import Page, expect

from rentals.models import LabelSheet, Practice, Student
from tests.browser_driver import PHONE, faults
from tests.factories import complete_kit, packed_loan

pytestmark = pytest.mark.browser


def give_the_practice_an_address() -> None:
    practice = Practice.current()
    practice.name, practice.street, practice.city = "Ease", "Hall 1", "Rosinburg"
    practice.postcode, practice.country = "12345", "DE"
    practice.save()


def test_a_tap_on_the_sheet_begins_there_and_ticks_narrow_the_print(browser_page: Page) -> None:
    page, kits = browser_page, [complete_kit() for _ in range(3)]
    page.goto("/labels/")
    expect(page.locator("#label-count")).to_contain_text("3 labels on 1 sheet.")
    assert faults(page) == []
    page.locator('[data-label-number="5"]').click()
    expect(page.locator("#id_start")).to_have_value("5")
    expect(page.locator(".label-used")).to_have_count(4)
    expect(page.locator(".label-print")).to_have_count(3)
    page.locator(f"#tick-{kits[1].code}").check()
    expect(page.locator("#label-count")).to_contain_text("1 label on 1 sheet.")
    assert "start=5" in page.url and f"code={kits[1].code}" in page.url
    page.get_by_label("Print", exact=True).select_option("lead")
    expect(page.locator("#label-count")).to_contain_text("9 labels on 1 sheet.")
    expect(page.locator("#id_start")).to_have_value("1")
    assert faults(page) == []
    with page.expect_request(lambda request: "/labels/labels.pdf" in request.url) as asked:
        page.locator(".page-action").get_by_role("button", name="Make the PDF").click()
    assert "kind=lead" in asked.value.url


def test_the_choice_works_without_a_script(open_page, signed_in) -> None:
    kit = complete_kit()
    page = open_page(signed_in, java_script_enabled=False)
    page.goto("/labels/")
    page.get_by_label("First free label").fill("21")
    page.locator(f"#tick-{kit.code}").check()
    page.get_by_role("button", name="Show").click()
    expect(page.locator(".label-used")).to_have_count(20)
    page.goto(page.url.replace("start=21", "start=22"))
    expect(page.get_by_role("alert")).to_contain_text("The sheet has labels 1 to 21.")


def test_papers_of_a_loan_on_the_phone(phone_page: Page) -> None:
    page, loan = phone_page, packed_loan()
    give_the_practice_an_address()
    Student.objects.update(name="Mila 🎻", country="CH", postcode="8001")
    page.goto(f"/pack/{loan.kit.code}/")
    expect(page.get_by_text("Mila 🎻 (U+1F3BB)")).to_be_visible()
    assert faults(page) == []
    page.goto(loan.get_absolute_url())
    expect(
        page.get_by_role("link", name="Print the contents statement", exact=True)
    ).to_be_visible()
    assert faults(page) == []
    page.get_by_role("link", name="Print the address label").click()
    expect(page.locator("#label-count")).to_contain_text("1 label on 1 sheet.")
    assert faults(page) == []
    label = page.locator('[data-label-number="8"]')
    assert label.bounding_box()["width"] >= 44 and label.bounding_box()["width"] < PHONE["width"]
    label.tap()
    expect(page.locator("#id_start")).to_have_value("8")


def test_a_sheet_is_copied_and_moved(browser_page: Page) -> None:
    page = browser_page
    page.goto("/setup/sheets/")
    assert faults(page) == []
    page.get_by_role("link", name="Copy and change 63.5 x 38.1 mm, 3 x 7 (A4)").click()
    expect(page.get_by_label("From one row to the next, mm")).to_be_visible()
    assert faults(page) == []
    page.get_by_label("From one row to the next, mm").fill("30")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("alert")).to_contain_text("the rows overlap")
    page.get_by_label("From one row to the next, mm").fill("38.1")
    page.get_by_label("Move right, mm").fill("1.5")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", name="Your own")).to_be_visible()
    assert faults(page) == []
    assert LabelSheet.objects.get().nudge_right == pytest.approx(1.5)
