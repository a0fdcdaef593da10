"""The table of parcels and the field's swaps in the browser: scans one after the other, steps that
are kept as they are ticked, and pages that fit a phone.
"""

import pytest
from playwright.sync_api import Page, expect

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive
from rentals.actions.replace_kit import replace_kit
from rentals.actions.replace_part import ask_replacement
from rentals.actions.return_steps import take_starter_steps
from rentals.models import LoanStep
from tests.factories import complete_kit, packed_loan, spare

pytestmark = pytest.mark.browser

WIDER = "document.documentElement.scrollWidth > innerWidth"


def test_mixed_parcels_are_scanned_and_steps_stay_ticked(browser_page: Page) -> None:
    page, kit = browser_page, complete_kit()
    take_starter_steps(kit.kit_type)
    here, there = dispatch(packed_loan(kit).kit), arrive(dispatch(packed_loan().kit).kit)
    page.goto("/receive/table/")
    box = page.get_by_label("Scan a part or a kit's label")
    charger, leads = here.kit.parts.get(kind="charger"), there.loan.kit.parts.get(kind="lead_set")
    for text, words in (
        (kit.code, "is in hand"),
        (charger.code, f"Charger {charger.code}: back."),
        (leads.code, f"Lead set {leads.code}: back."),
    ):
        box.fill(text)
        page.keyboard.press("Enter")
        expect(page.get_by_text(words)).to_be_visible()
        expect(box).to_be_focused()
    page.set_viewport_size({"width": 390, "height": 844})
    assert not page.evaluate(WIDER)
    page.goto(f"/receive/{kit.code}/")
    assert not page.evaluate(WIDER)
    step = page.get_by_role("checkbox", name="Take the student's address off the box.")
    with page.expect_response("**/receive/steps/**"):
        step.check()
    page.reload()
    expect(step).to_be_checked()
    assert LoanStep.objects.filter(done_at__isnull=False).count() == 1
    page.get_by_role("button", name="Close in part").click()
    expect(page.get_by_text("The rest stays due on")).to_be_visible()
    assert not page.evaluate(WIDER)


def test_the_record_of_swaps_fits_a_phone_and_leads_on(phone_page: Page) -> None:
    page, loan = phone_page, dispatch(packed_loan().kit)
    line = loan.packing_lines.get(part_kind="charger")
    row = ask_replacement(line, why="Gets hot", part=spare("charger"), back_by=loan.due_on)
    after = replace_kit(
        loan, complete_kit(loan.kit.kit_type), fault="No trace at all", due_on=loan.due_on
    )
    page.goto(loan.get_absolute_url())
    assert not page.evaluate(WIDER)
    page.get_by_role("link", name="Pack and send it").click()
    page.locator("#id_tracking_number").fill("AB 77")
    page.get_by_role("button", name="It is on its way").click()
    expect(page.get_by_text("tracking number AB77")).to_be_visible()
    page.get_by_role("link", name=f"Open its loan {after.kit.code}").click()
    expect(page.get_by_text("faulty: No trace at all")).to_be_visible()
    row.refresh_from_db()
    assert row.sent_at is not None and not page.evaluate(WIDER)
